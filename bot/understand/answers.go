package understand

import (
	"strings"

	"kitbell/bot/kit"
)

// answerWords is what a short answer may name.
type answerWords struct {
	unit      string
	items     []string
	condition kit.Condition
}

// answers reads a message as an answer to a question about a report.
func (s *sheet) answers() answerWords {
	var a answerWords
	for i, m := range s.marks {
		switch m.kind {
		case unitMark:
			a.unit = m.unit.id
		case itemMark, sizeMark:
			if named := s.mentionAt(i, nil); named != nil {
				a.items = append(a.items, named.items...)
			}
		case conditionMark:
			if c := kit.Condition(m.sense(conditionSense).status); known(c) {
				a.condition = c
			}
		}
	}
	a.items = append(a.items, s.named()...)
	return a
}

func known(c kit.Condition) bool {
	for _, k := range kit.Conditions() {
		if c == k {
			return true
		}
	}
	return false
}

// named finds the pending candidates that a lone adjective picks: "steel",
// "small", "wide".
func (s *sheet) named() []string {
	var items []string
	for _, id := range s.pendingItems() {
		for part := range strings.SplitSeq(id, "-") {
			for _, t := range s.tokens {
				if t.word != 0 && s.words.names[t.word] == part && !generic[part] {
					items = append(items, id)
				}
			}
		}
	}
	return items
}

// generic are parts of item ids that tell nothing apart.
var generic = map[string]bool{"hook": true, "wedge": true, "bar": true, "shim": true, "strip": true, "latch": true, "door": true, "guard": true}

// wish is what a wish asks for: the words after its cue.
func (s *sheet) wish() string {
	if said := wishFirst.FindString(strings.TrimSpace(s.text)); said != "" {
		return strings.TrimSpace(s.text)[len(said)-1:] // its last byte is the first of the wish
	}
	for _, h := range s.cueHits {
		if h.intent == Wish {
			if rest := s.restOfClause(h.to); rest != "" {
				return rest
			}
			return s.restOfClause(h.from)
		}
	}
	return ""
}
