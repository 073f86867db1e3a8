package budget

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/kljensen/snowball/english"
)

// Asking is one person's word that the kit should have something, as the journal
// keeps it. Askings of the same thing are one Wish.
type Asking struct {
	Key     string   `json:"key,omitempty"`    // of the wish that it belongs to; the first asking has its own
	Number  int      `json:"number,omitempty"` // of the wish, on its first asking: what people call it by
	For     string   `json:"for"`              // what, in the asker's words
	Item    string   `json:"item,omitempty"`   // item that the words name; empty for something new
	Gist    []string `json:"gist,omitempty"`   // what the words are about, by Gist
	Reason  string   `json:"reason,omitempty"`
	Unit    string   `json:"unit,omitempty"`
	Platoon string   `json:"platoon,omitempty"`
	Cents   int64    `json:"cents,omitempty"` // price each, as the asker knows it

	By string    `json:"-"` // member, from the entry
	At time.Time `json:"-"`
}

// Verdict is what the lead says to a wish.
type Verdict string

// The verdicts.
const (
	Granted  Verdict = "in the request"
	Later    Verdict = "later"
	Declined Verdict = "no"
)

// Answer is the lead's word on a wish, as the journal keeps it. The last one counts.
type Answer struct {
	Key     string   `json:"key"`
	Verdict Verdict  `json:"verdict"`
	Reason  string   `json:"reason,omitempty"` // needed for later and no
	Each    int      `json:"each,omitempty"`   // granted: pieces for each kit
	Units   []string `json:"units,omitempty"`  // granted: whose kits; none for every kit
	Cents   int64    `json:"cents,omitempty"`  // granted: price each, where the lead knows a better one

	By string    `json:"-"`
	At time.Time `json:"-"`
}

// Wish is something that crews would like the kit to have.
type Wish struct {
	Key     string
	Number  int
	Item    string // empty for something that no kit has
	Askings []Asking
	Answer  *Answer // nil while nobody answered
}

// What keeps an answer from being given.
var (
	ErrNoWish    = errors.New("there is no such wish")
	ErrVerdict   = errors.New("a wish is answered with yes, later or no")
	ErrWhy       = errors.New("say why: whoever asked reads it")
	ErrEach      = errors.New("a wish in the request is for one piece or more a kit")
	ErrWishPrice = errors.New("a price is more than zero")
	ErrSameWord  = errors.New("that is what it was answered already")
)

// Same says whether two askings are about the same thing: the same item with the
// same said of it, or words of which most are shared. That three quarters of the
// shorter one are enough is an assumption.
func (a Asking) Same(b Asking) bool {
	if a.Item != b.Item {
		return false
	}
	if a.Item != "" {
		return slices.Equal(a.Gist, b.Gist)
	}
	shared := 0
	for _, word := range a.Gist {
		if slices.Contains(b.Gist, word) {
			shared++
		}
	}
	shorter := min(len(a.Gist), len(b.Gist))
	return slices.Equal(a.Gist, b.Gist) || shorter > 1 && 4*shared >= 3*shorter
}

// Wishes folds askings and answers, oldest first, into wishes in the order in which
// they were first made. An answer to a wish that was taken back is passed over.
func Wishes(askings []Asking, answers []Answer) []Wish {
	var wishes []Wish
	for _, a := range askings {
		at := slices.IndexFunc(wishes, func(w Wish) bool { return w.Holds(a) })
		if at < 0 {
			wishes = append(wishes, Wish{Key: a.Key, Number: cmp.Or(a.Number, NextWish(wishes)), Item: a.Item})
			at = len(wishes) - 1
		}
		wishes[at].Askings = append(wishes[at].Askings, a)
	}
	for _, answer := range answers {
		if at := slices.IndexFunc(wishes, func(w Wish) bool { return w.Key == answer.Key && answer.Key != "" }); at >= 0 {
			wishes[at].Answer = &answer
		}
	}
	return wishes
}

// Holds says whether an asking belongs to a wish: by its key, or where it has none
// by what it is about.
func (w Wish) Holds(a Asking) bool {
	if a.Key != "" {
		return a.Key == w.Key
	}
	return a.Same(w.Askings[0])
}

// Join gives the asking the wish that it belongs to among those of its year: the
// first about the same thing, or a new one under the key. joined says which.
func Join(wishes []Wish, a Asking, key string, since time.Time) (asking Asking, joined *Wish) {
	for i, w := range wishes {
		if w.Last().Before(since) || !a.Same(w.Askings[0]) {
			continue
		}
		a.Key = w.Key
		return a, &wishes[i]
	}
	a.Key, a.Number = key, NextWish(wishes)
	return a, nil
}

// NextWish is the number of the wish that is made after these.
func NextWish(wishes []Wish) int {
	last := 0
	for _, w := range wishes {
		last = max(last, w.Number)
	}
	return last + 1
}

// Crew is who asked together.
type Crew struct{ Unit, Platoon string }

// Crews are the crews that asked, each once, in the order in which they did.
func (w Wish) Crews() []Crew {
	var crews []Crew
	for _, a := range w.Askings {
		if c := (Crew{a.Unit, a.Platoon}); a.Unit != "" && !slices.Contains(crews, c) {
			crews = append(crews, c)
		}
	}
	return crews
}

// Reasons are the reasons that were given, each once.
func (w Wish) Reasons() []string {
	var reasons []string
	for _, a := range w.Askings {
		if a.Reason != "" && !slices.Contains(reasons, a.Reason) {
			reasons = append(reasons, a.Reason)
		}
	}
	return reasons
}

// For is the wish in the words of whoever asked first.
func (w Wish) For() string { return w.Askings[0].For }

// Last is when it was last asked for.
func (w Wish) Last() time.Time { return w.Askings[len(w.Askings)-1].At }

// Cents is the price each: the lead's, or the last that an asker knew; 0 for none.
func (w Wish) Cents() int64 {
	if w.Answer != nil && w.Answer.Cents > 0 {
		return w.Answer.Cents
	}
	for _, a := range slices.Backward(w.Askings) {
		if a.Cents > 0 {
			return a.Cents
		}
	}
	return 0
}

// CheckAnswer says whether an answer may be given to a wish. Who is the lead, and
// which units there are, is for the caller to know.
func CheckAnswer(w Wish, a Answer) error {
	switch {
	case a.Verdict != Granted && a.Verdict != Later && a.Verdict != Declined:
		return ErrVerdict
	case a.Verdict != Granted && a.Reason == "":
		return ErrWhy
	case a.Verdict == Granted && a.Each < 1:
		return ErrEach
	case a.Cents < 0:
		return ErrWishPrice
	case w.Answer != nil && w.Answer.same(a):
		return ErrSameWord
	}
	return nil
}

func (a Answer) same(b Answer) bool {
	return a.Verdict == b.Verdict && a.Reason == b.Reason && a.Each == b.Each && a.Cents == b.Cents && slices.Equal(a.Units, b.Units)
}

// YearDay is a day of every year.
type YearDay struct {
	Month time.Month
	Day   int
}

func (d YearDay) in(year int, zone *time.Location) time.Time {
	return time.Date(year, d.Month, d.Day, 0, 0, 0, 0, zone)
}

// WishYear says for which fiscal year a wish counts that is made at an instant:
// when wishes for it close (the last instant of that day is in) and when the year
// begins. Both are local midnights; closes is the one after the last day.
func WishYear(at time.Time, closesOn, startsOn YearDay) (closes, starts time.Time) {
	closes = closesOn.in(at.Year(), at.Location()).AddDate(0, 0, 1)
	if !at.Before(closes) {
		closes = closesOn.in(at.Year()+1, at.Location()).AddDate(0, 0, 1)
	}
	starts = startsOn.in(closes.Year(), at.Location())
	if starts.Before(closes) {
		starts = startsOn.in(closes.Year()+1, at.Location())
	}
	return closes, starts
}

// Gist is what a wish is about: the stems of its words but for those that say how
// many, those that every wish has, and those of the item that it names, by
// whatever names it goes; sorted, each once.
func Gist(words string, names ...string) []string {
	var known []string
	for _, name := range names {
		known = append(known, stems(name)...)
	}
	var gist []string
	for _, stem := range stems(words) {
		if !slices.Contains(known, stem) {
			gist = append(gist, stem)
		}
	}
	slices.Sort(gist)
	return slices.Compact(gist)
}

var wordOf = regexp.MustCompile(`[\pL\pN]+`)

// stems are those of the words that tell one wish from another.
func stems(text string) []string {
	var all []string
	for _, word := range wordOf.FindAllString(strings.ToLower(text), -1) {
		if stem := english.Stem(word, false); !saysNothing[word] && !saysNothing[stem] {
			all = append(all, stem)
		}
	}
	return all
}

// saysNothing are the words that tell no two wishes apart: how many, and what every
// wish says.
var saysNothing = set("a an the of for to in on at and or with we us our i my me it its they them this that these those " +
	"one two three four five six 1 2 3 4 5 6 first second third another extra more spare additional few couple pair pairs both each every all any some " +
	"kit kits rig rigs engine truck should could would can may please need needs want wish have has get carry add buy like new good nice really just also " +
	"be is are was were been next year budget request list")

func set(words string) map[string]bool {
	all := make(map[string]bool)
	for word := range strings.FieldsSeq(words) {
		all[word] = true
	}
	return all
}

// ForWords says for whom a granted wish is, as a request does: "one for every kit".
func (a Answer) ForWords(unitName func(unit string) string) string {
	count := fmt.Sprint(a.Each)
	if a.Each == 1 {
		count = "one"
	}
	if len(a.Units) == 0 {
		return count + " for every kit"
	}
	names := make([]string, len(a.Units))
	for i, unit := range a.Units {
		names[i] = unitName(unit)
	}
	return count + " each for " + strings.Join(names, ", ")
}
