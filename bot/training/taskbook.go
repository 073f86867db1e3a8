package training

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"kitbell/bot/door"
)

// Skill is one line of the department's task book.
type Skill struct {
	ID     string
	Title  string
	NoDoor bool // it is not shown at a door: care of the kit, say
}

// DoorKind is the kind of door that a skill was shown at: swing × lock.
type DoorKind struct {
	Swing door.Swing `json:"swing,omitempty"`
	Lock  door.Lock  `json:"lock,omitempty"`
}

// known says whether both are values that a door can have.
func (k DoorKind) known() bool {
	return slices.Contains(door.Values(door.FactSwing), string(k.Swing)) && slices.Contains(door.Values(door.FactLock), string(k.Lock))
}

// BookStep is one entry in somebody's task book, as the journal keeps it. Key
// names the sign-off that it belongs to.
type BookStep struct {
	Key    string    `json:"key"`
	Number int       `json:"number,omitempty"` // signed: what people call it by
	What   BookWhat  `json:"what"`
	Skill  string    `json:"skill,omitempty"`  // signed
	Title  string    `json:"title,omitempty"`  // signed: the skill's, which stays when the list changes
	Member string    `json:"member,omitempty"` // signed: who showed it
	Name   string    `json:"name,omitempty"`   // signed: theirs, which stays when they leave
	Signer string    `json:"signer,omitempty"` // signed: the evaluator's name, likewise
	Shown  time.Time `json:"shown,omitzero"`   // signed: when
	Door   DoorKind  `json:"door,omitzero"`    // signed: at which kind of door
	Tries  int       `json:"tries,omitempty"`  // signed: that it took
	Reason string    `json:"reason,omitempty"` // withdrawn
	By     string    `json:"by"`               // the evaluator, or who withdraws
	At     time.Time `json:"at"`
}

// BookWhat names an entry.
type BookWhat string

// The entries of a task book. A mistake is withdrawn and signed again.
const (
	Signed      BookWhat = "signed"
	SignOffGone BookWhat = "withdrawn"
)

// SignOff is a skill that was signed. One that was withdrawn stays, with who did
// so and why, and no longer counts.
type SignOff struct {
	BookStep
	Withdrawn *BookStep // nil while it stands
}

// TaskBook is the department's list of skills and who may sign them.
type TaskBook struct {
	Skills    []Skill
	Qualified func(member, skill string) bool // whether a member may evaluate a skill; called for each entry
	Serves    func(member string) bool        // whether there is such a member; called for each entry
}

// What keeps an entry out of the task book.
var (
	ErrNoSkill      = errors.New("the task book has no such skill")
	ErrOwnSkill     = errors.New("an evaluator does not sign for himself or herself")
	ErrNotQualified = errors.New("only a qualified evaluator signs that skill")
	ErrNoMember     = errors.New("there is no such member")
	ErrNotShown     = errors.New("a skill is signed with the day on which it was shown, and not before it")
	ErrDoorKind     = errors.New("a skill is signed with the kind of door: its swing and its lock")
	ErrTries        = errors.New("a skill is signed with the tries it took, one or more")
	ErrLongAgo      = errors.New("what was shown more than two years ago is shown again")
	ErrManyTries    = errors.New("more than 20 tries look like a slip")
	ErrNoReason     = errors.New("it needs a reason")
	ErrNoSignOff    = errors.New("there is no such sign-off")
	ErrWithdrawn    = errors.New("that was withdrawn already")
	ErrKey          = errors.New("that key names something else already")
	ErrNoStep       = errors.New("there is no such step")
)

// Check says whether an entry may be written after what was signed so far. Who may
// withdraw is for the caller to know.
func (b TaskBook) Check(signed []SignOff, s BookStep) error {
	at := slices.IndexFunc(signed, func(o SignOff) bool { return o.Key == s.Key })
	switch s.What {
	case Signed:
		if s.Key == "" || at >= 0 {
			return ErrKey
		}
		return b.checkSigned(s)
	case SignOffGone:
		switch {
		case at < 0:
			return ErrNoSignOff
		case signed[at].Withdrawn != nil:
			return ErrWithdrawn
		case s.Reason == "":
			return ErrNoReason
		}
		return nil
	}
	return ErrNoStep
}

// mostTries is an assumption: whatever took more was mistyped.
const mostTries = 20

func (b TaskBook) checkSigned(s BookStep) error {
	at := slices.IndexFunc(b.Skills, func(k Skill) bool { return k.ID == s.Skill })
	switch {
	case at < 0:
		return fmt.Errorf("%w as %q", ErrNoSkill, s.Skill)
	case s.Member == "" || !b.Serves(s.Member):
		return ErrNoMember
	case s.By == s.Member:
		return ErrOwnSkill
	case !b.Qualified(s.By, s.Skill):
		return ErrNotQualified
	case s.Shown.IsZero() || s.Shown.After(s.At):
		return ErrNotShown
	case s.Shown.Before(s.At.AddDate(-2, 0, 0)):
		return ErrLongAgo
	case !b.Skills[at].NoDoor && !s.Door.known():
		return ErrDoorKind
	case s.Tries < 1:
		return ErrTries
	case s.Tries > mostTries:
		return ErrManyTries
	}
	return nil
}

// SignOffs folds entries, oldest first, into everything that was ever signed.
func SignOffs(steps []BookStep) []SignOff {
	var signed []SignOff
	for _, s := range steps {
		at := slices.IndexFunc(signed, func(o SignOff) bool { return o.Key == s.Key })
		switch {
		case s.What == Signed && at < 0:
			s.Number = cmp.Or(s.Number, NextSignOff(signed))
			signed = append(signed, SignOff{BookStep: s})
		case s.What == SignOffGone && at >= 0 && signed[at].Withdrawn == nil:
			signed[at].Withdrawn = &s
		}
	}
	return signed
}

// NextSignOff is the number of the sign-off that is made after these.
func NextSignOff(signed []SignOff) int {
	last := 0
	for _, o := range signed {
		last = max(last, o.Number)
	}
	return last + 1
}

// Page is one member's task book: each skill with the sign-offs about it, the
// withdrawn ones included.
type Page struct {
	Member string
	Lines  []PageLine
}

// Code names what the page says, in 16 hex digits: another sign-off, a withdrawal or
// another list of skills makes another code. It is the start of the SHA-256 of the
// page as JSON, so a printed page can be held to the books.
func (p Page) Code() string {
	text, err := json.Marshal(p)
	if err != nil {
		panic(fmt.Sprintf("encode a page: %v", err)) // it holds nothing that JSON lacks
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// PageLine is one skill of it.
type PageLine struct {
	Skill   Skill
	Gone    bool      // the task book has it no more; it is here for what was signed
	Entries []SignOff // oldest first
}

// Stands says whether one of the line's sign-offs counts.
func (l PageLine) Stands() bool {
	return slices.ContainsFunc(l.Entries, func(o SignOff) bool { return o.Withdrawn == nil })
}

// Page puts a member's sign-offs beside the department's skills, and below them
// those about skills that the list has no more.
func (b TaskBook) Page(signed []SignOff, member string) Page {
	page := Page{Member: member}
	for _, skill := range b.Skills {
		line := PageLine{Skill: skill}
		for _, o := range signed {
			if o.Member == member && o.Skill == skill.ID {
				line.Entries = append(line.Entries, o)
			}
		}
		page.Lines = append(page.Lines, line)
	}
	for _, o := range signed {
		if o.Member != member {
			continue
		}
		at := slices.IndexFunc(page.Lines, func(l PageLine) bool { return l.Skill.ID == o.Skill })
		switch {
		case at < 0:
			gone := Skill{ID: o.Skill, Title: cmp.Or(o.Title, o.Skill)}
			page.Lines = append(page.Lines, PageLine{Skill: gone, Gone: true, Entries: []SignOff{o}})
		case page.Lines[at].Gone:
			page.Lines[at].Entries = append(page.Lines[at].Entries, o)
		}
	}
	return page
}

// Open lists the skills that nothing on the page stands for.
func (p Page) Open() []Skill {
	var open []Skill
	for _, line := range p.Lines {
		if !line.Stands() && !line.Gone {
			open = append(open, line.Skill)
		}
	}
	return open
}
