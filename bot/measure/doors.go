package measure

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// DoorCase is one line of a doors file: what a crew says about a door, the facts
// in it, and what a plan may and may not hold.
type DoorCase struct {
	ID        string                       `json:"id"`
	Text      string                       `json:"text"`
	Facts     map[string]json.RawMessage   `json:"facts"`
	FactsAlt  map[string][]json.RawMessage `json:"facts_alt"`  // other values that count as right
	FirstOK   []string                     `json:"first_ok"`   // right first or second steps
	Never     []string                     `json:"never"`      // must not be in the plan; on a life call, not before force-it
	NotBefore map[string][]string          `json:"not_before"` // fine only behind one of those listed
	AskBack   []string                     `json:"ask_back"`
}

// DoorScore is what a reader made of a doors file.
type DoorScore struct {
	Cases   int
	Whole   int                  // cases with every fact right
	Right   map[string]int       // by fact
	Stated  map[string]FactCount // of the facts that the text states, by fact
	Asks    int                  // cases that must ask back
	Asked   int
	Invents int // facts given although the text says nothing of them
}

// FactCount is how many of the stated values of a fact were right.
type FactCount struct{ Right, All int }

// baseFacts are the facts that a doors file scores, in its order.
var baseFacts = []door.Fact{
	door.FactSwing, door.FactLeaves, door.FactLock, door.FactGuard, door.FactPlunger, door.FactGap,
	door.FactUndercut, door.FactLever, door.FactThumbturn, door.FactSensor, door.FactUrgency,
}

// ReadDoors reads a doors file: one JSON object a line.
func ReadDoors(r io.Reader) ([]DoorCase, error) { return readLines[DoorCase](r) }

// Doors scores the facts that a reader finds and prints each miss to misses,
// which may be io.Discard.
func Doors(reader MessageReader, cases []DoorCase, misses io.Writer) (DoorScore, error) {
	score := DoorScore{Right: map[string]int{}, Stated: map[string]FactCount{}}
	for _, c := range cases {
		wrong := score.add(c, reader.Read(c.Text, understand.Context{}))
		if len(wrong) == 0 {
			continue
		}
		if _, err := fmt.Fprintf(misses, "%s %q\n    %s\n", c.ID, c.Text, strings.Join(wrong, "; ")); err != nil {
			return score, fmt.Errorf("print a miss: %w", err)
		}
	}
	return score, nil
}

func (s *DoorScore) add(c DoorCase, got understand.Reading) (wrong []string) {
	s.Cases++
	facts := got.Door.Assumed()
	for _, name := range baseFacts {
		have, want := facts.Value(name), factText(c.Facts[string(name)])
		right := have == want || slices.ContainsFunc(c.FactsAlt[string(name)], func(alt json.RawMessage) bool { return factText(alt) == have })
		s.count(name, have, want, right)
		if !right {
			wrong = append(wrong, fmt.Sprintf("%s %q, want %q", name, have, want))
		}
	}
	if len(wrong) == 0 {
		s.Whole++
	}
	return append(wrong, s.addAsking(c, got)...)
}

// count scores one fact. Assumed values are not stated.
func (s *DoorScore) count(name door.Fact, have, want string, right bool) {
	key := string(name)
	assumed := door.Facts{}.Assumed()
	if right {
		s.Right[key]++
	}
	if want == assumed.Value(name) {
		if !right {
			s.Invents++
		}
		return
	}
	n := s.Stated[key]
	n.All++
	if right {
		n.Right++
	}
	s.Stated[key] = n
}

func (s *DoorScore) addAsking(c DoorCase, got understand.Reading) (wrong []string) {
	if len(c.AskBack) == 0 {
		return nil
	}
	s.Asks++
	for _, about := range c.AskBack {
		if !got.Asks(about) {
			return []string{"does not ask about " + about}
		}
	}
	s.Asked++
	return nil
}

// factText is a fact's value as package door writes it; the words for "not
// known" are empty.
func factText(raw json.RawMessage) string {
	text := strings.Trim(string(raw), `"`)
	switch text {
	case "null", "unknown", "unseen":
		return ""
	}
	return text
}

// StatedShare is the share of all stated facts that were right, 0 to 1.
func (s DoorScore) StatedShare() float64 {
	right, all := s.stated()
	if all == 0 {
		return 0
	}
	return float64(right) / float64(all)
}

func (s DoorScore) stated() (right, all int) {
	for _, n := range s.Stated {
		right += n.Right
		all += n.All
	}
	return right, all
}

// Print writes the score as a small table.
func (s DoorScore) Print(w io.Writer) error {
	right, all := s.stated()
	var b strings.Builder
	fmt.Fprintf(&b, "doors              %d\nwholly right       %s\nstated facts       %s\ninvented facts     %d\nasked when needed  %s\n",
		s.Cases, share(s.Whole, s.Cases), share(right, all), s.Invents, share(s.Asked, s.Asks))
	for _, name := range baseFacts {
		n := s.Stated[string(name)]
		fmt.Fprintf(&b, "  %-10s all %s; stated %s\n", name, share(s.Right[string(name)], s.Cases), share(n.Right, n.All))
	}
	return printed(io.WriteString(w, b.String()))
}
