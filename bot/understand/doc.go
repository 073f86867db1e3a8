// Package understand turns what a crew types, or dictates, into meaning: what
// they want (Intent), what is wrong with which kit (Line), which rig they named,
// and what they said about a door.
//
// The smallest use:
//
//	reader, err := understand.New(dept, names)
//	reading := reader.Read("E4 film torn and no cards left", understand.Context{Unit: "engine-4"})
//	// reading.Intent is report; two lines for engine-4
//
// A message goes through four steps: it is cut into words; each word is brought
// to the spelling that the vocabulary knows; phrases of the vocabulary are found,
// the longest first; small readers then each take what concerns them: units,
// items, counts, conditions, door facts, and last the intent. Where no rule is
// sure of the intent, a count of words over written examples decides. The vocabulary is
// data (the YAML files beside the code, the tool cards' names, the department's
// file); the code holds the grammar only.
//
// When two readings remain the package asks ([Reading].AskBack) and never
// guesses a unit or an item. It answers nothing, stores nothing and knows no
// clock; a command acts on the reading.
package understand
