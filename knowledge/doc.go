// Package knowledge answers a crew's technique questions from cards.
//
// A card is one Markdown file about one thing: a tool, a lock, a technique, a
// decision, a hazard, a piece of care or a drill. The cards of the program are
// embedded; a department may add its own or replace some ([Library.Overlay]).
// An [Index] finds the card a question is about, and says when none is; an
// [Answer] is the part of that card which answers.
//
//	cards, problems := knowledge.Load(knowledge.Cards())
//	index := knowledge.NewIndex(cards)
//	found := index.Search("door pulls toward us, small pin next to the latch", 3)
//	if found.Verdict == knowledge.Answered {
//		answer := knowledge.NewAnswer(cards, found)
//	}
//
// What it does not do: it plans no door (bot/door reads [Card.Plan]), renders
// nothing for a platform, and knows nothing of who asks. Nothing here blocks
// or keeps state after it is built; everything may be read from any goroutine.
package knowledge
