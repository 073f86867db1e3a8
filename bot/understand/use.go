package understand

import "kitbell/bot/door"

// techniqueOf is the technique that a tool is tried by when only the tool is
// named.
var techniqueOf = map[string]string{
	"shove-knife": "slip-outward", "traveler-hook-small": "slip-tight-gap", "traveler-hook-large": "slip-tight-gap",
	"guard-bar-narrow": "slip-behind-guard", "guard-bar-wide": "slip-behind-guard", "latch-shim-thin": "slip-behind-guard",
	"latch-shim-thick": "slip-behind-guard", "stile-strip": "slip-narrow-stile", "latch-film": "slip-inward",
	"pair-door-hook": "pair-door-pull", "thumbturn-fork": "thumbturn-reach", "under-door-lever": "lever-under-door",
	"air-wedge": "spread-ladder", "wood-wedge": "spread-ladder", "steel-wedge": "spread-ladder", "pry-bar-short": "spread-ladder",
	"door-strap": "keep-it-open", "door-chock": "keep-it-open", "air-duster": "sensor-trip",
	"privacy-latch-hook": "room-latch-hook", "notched-card": "room-latch-card", "cylinder-set": "through-the-lock", "irons": "force-it",
}

// readUse fills what the message says about a technique that was tried.
func (s *sheet) readUse(out *Reading) {
	u := &out.Use
	u.Items = out.Items
	for i, t := range s.tokens {
		if call := s.calls[t.word]; call != "" && u.Call == "" {
			u.Call = call
		}
		s.useWord(u, i)
	}
	s.readOutcome(out)
	if len(out.Items) > 0 {
		u.Technique = s.technique(out.Items[0], out.Door)
	}
}

// technique is how a tool is used on this door.
func (s *sheet) technique(item string, f door.Facts) string {
	if item == "notched-card" && f.Lock == door.LockSwingBar {
		return "swing-bar-release"
	}
	return techniqueOf[item]
}

// useWord reads one word of a record of use: its mark, its tries, how the
// opening was left, practice.
func (s *sheet) useWord(u *Use, i int) {
	word := s.words.names[s.tokens[i].word]
	switch word {
	case "first", "second", "third", "1st", "2nd", "3rd", "one", "two", "three", "once", "twice", "1", "2", "3", "4":
		if s.isTry(i + 1) {
			u.Tries = ordinals[word]
		}
	case "try", "attempt":
		if i+1 < len(s.tokens) && s.tokens[i+1].value > 0 && s.tokens[i+1].value < 10 {
			u.Tries = s.tokens[i+1].value
		}
	}
	if meaning, ok := useWords[word]; ok {
		meaning(u, s.deniedAt(i))
	}
}

func (s *sheet) isTry(i int) bool {
	if i >= len(s.tokens) {
		return false
	}
	switch s.words.names[s.tokens[i].word] {
	case "try", "tries", "attempt", "attempts", "shot", "go", "bite":
		return true
	}
	return false
}

// deniedAt says whether "no" or its like stands up to two words before token i.
func (s *sheet) deniedAt(i int) bool {
	for k := max(0, i-2); k < i; k++ {
		if s.words.negates[s.tokens[k].word] {
			return true
		}
	}
	return false
}

var ordinals = map[string]int{
	"first": 1, "1st": 1, "one": 1, "once": 1, "1": 1, "second": 2, "2nd": 2, "two": 2, "twice": 2, "2": 2,
	"third": 3, "3rd": 3, "three": 3, "3": 3, "4": 4,
}

// useWords is what single words add to a record of use.
var useWords = map[string]func(u *Use, denied bool){
	"mark": markWord("scuff"), "marks": markWord("scuff"), "damage": markWord("scar"), "scuff": markWord("scuff"), "scuffed": markWord("scuff"),
	"scratch": markWord("scuff"), "scratched": markWord("scuff"), "scar": markWord("scar"), "scarred": markWord("scar"), "dented": markWord("scar"),
	"toast": markWord("door"), "destroyed": markWord("door"), "trashed": markWord("door"),
	"practiced": practice, "practised": practice, "practice": practice, "drilled": practice, "drill": practice, "training": practice, "board": practice,
	"relocked": leftAs("relatched"), "relatched": leftAs("relatched"), "relock": leftAs("relatched"), "boarded": leftAs("boarded"),
	"police": leftAs("police"), "keyholder": leftAs("keyholder"), "owner": leftAs("owner"),
}

func markWord(mark string) func(*Use, bool) {
	return func(u *Use, denied bool) {
		u.Mark = mark
		if denied {
			u.Mark = "none"
		}
	}
}

func practice(u *Use, denied bool) { u.Practice = !denied }

func leftAs(how string) func(*Use, bool) {
	return func(u *Use, denied bool) {
		if !denied {
			u.Left = how
		}
	}
}

// readOutcome reads whether the door is open, and puts the techniques that
// failed to the door's facts.
func (s *sheet) readOutcome(out *Reading) {
	switch {
	case s.hits(failedCue):
		out.Outcome = NotYet
	case s.hits(openedCue):
		out.Outcome = Opened
	}
	out.Use.Outcome = out.Outcome
	if out.Outcome != NotYet {
		return
	}
	for _, item := range out.Items {
		if id := s.technique(item, out.Door); id != "" {
			addOnce(&out.Door.Failed, id)
		}
	}
}
