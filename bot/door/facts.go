package door

import (
	"encoding/json"
	"fmt"
	"slices"
)

// Fact names one thing that can be seen, or was said, about a door. The names
// are the keys of the JSON form and of the conditions in technique cards.
type Fact string

// The facts the model knows. Those up to FactUrgency are always present in the
// JSON form; the richer ones after it only when known.
const (
	FactSwing     Fact = "swing"
	FactLeaves    Fact = "leaves"
	FactLock      Fact = "lock"
	FactGuard     Fact = "guard"
	FactPlunger   Fact = "plunger"
	FactGap       Fact = "gap"
	FactUndercut  Fact = "undercut"
	FactLever     Fact = "lever"
	FactThumbturn Fact = "thumbturn"
	FactSensor    Fact = "sensor"
	FactUrgency   Fact = "urgency"
	FactBolt      Fact = "bolt"
	FactHinges    Fact = "hinges"
	FactFire      Fact = "fire"
	FactGas       Fact = "gas"
	FactGlass     Fact = "glass"
	FactAjar      Fact = "ajar"
	FactFinished  Fact = "finished"
	FactSpent     Fact = "spent"
)

// Swing is the way a door moves, seen from the crew.
type Swing string

// Out opens toward the crew (pull), In away from it (push).
const (
	SwingUnknown  Swing = "unknown"
	SwingOut      Swing = "out"
	SwingIn       Swing = "in"
	SwingSliding  Swing = "sliding"
	SwingOverhead Swing = "overhead"
)

// Leaves is how many leaves share the opening.
type Leaves string

// A door nobody described is assumed to be single.
const (
	LeavesSingle Leaves = "single"
	LeavesPair   Leaves = "pair"
)

// Lock is what holds the door, as far as it was recognised.
type Lock string

// The lock values. SwingBar, RoomLatch and Chain are second locks on the inside
// of a room that already opened an inch or two.
const (
	LockUnknown         Lock = "unknown"
	LockSpringLatch     Lock = "spring-latch"
	LockDeadlatch       Lock = "deadlatch"
	LockDeadbolt        Lock = "deadbolt"
	LockMortise         Lock = "mortise"
	LockNarrowStile     Lock = "narrow-stile"
	LockExitRim         Lock = "exit-rim"
	LockExitVerticalRod Lock = "exit-vertical-rod"
	LockMagnetic        Lock = "magnetic"
	LockElectricStrike  Lock = "electric-strike"
	LockSwingBar        Lock = "swing-bar"
	LockRoomLatch       Lock = "room-latch"
	LockChain           Lock = "chain"
	LockPadlock         Lock = "padlock"
)

// Plunger is where the small pin beside a spring latch stands: out is free, in
// is pressed and blocks the latch.
type Plunger string

// Unseen means nobody could look; none means somebody looked and there is none.
const (
	PlungerUnseen Plunger = "unseen"
	PlungerNone   Plunger = "none"
	PlungerOut    Plunger = "out"
	PlungerPartly Plunger = "partly"
	PlungerIn     Plunger = "in"
)

// Gap is the room between door and frame at the latch.
type Gap string

// Tight takes no blade, normal takes one, loose takes a rod.
const (
	GapUnknown Gap = "unknown"
	GapTight   Gap = "tight"
	GapNormal  Gap = "normal"
	GapLoose   Gap = "loose"
)

// Hinges is what can be seen of the hinge side.
type Hinges string

// Outside: knuckles on the crew's side, pins that can be driven. Fixed: on the
// crew's side, pins that cannot. Inside: on the far side. Hidden: concealed.
const (
	HingesUnknown Hinges = "unknown"
	HingesOutside Hinges = "outside"
	HingesFixed   Hinges = "fixed"
	HingesInside  Hinges = "inside"
	HingesHidden  Hinges = "hidden"
)

// Urgency is what time is worth on this call.
type Urgency string

// A call nobody described is assumed to be routine.
const (
	UrgencyRoutine Urgency = "routine"
	UrgencyUrgent  Urgency = "urgent"
	UrgencyLife    Urgency = "life"
)

// Tri is yes, no or not known. The zero value is not known.
type Tri int8

// The three values of Tri; in JSON true, false and null.
const (
	Unknown Tri = iota
	Yes
	No
)

// MarshalJSON writes true, false or null.
func (t Tri) MarshalJSON() ([]byte, error) {
	if t == Unknown {
		return []byte("null"), nil
	}
	return []byte(t.text()), nil
}

// UnmarshalJSON reads true, false or null.
func (t *Tri) UnmarshalJSON(data []byte) error {
	var value *bool
	if err := json.Unmarshal(data, &value); err != nil {
		return fmt.Errorf("read yes, no or null: %w", err)
	}
	*t = Unknown
	if value != nil {
		*t = TriOf(*value)
	}
	return nil
}

// TriOf turns a bool that is known into a Tri.
func TriOf(yes bool) Tri {
	if yes {
		return Yes
	}
	return No
}

func (t Tri) text() string {
	switch t {
	case Yes:
		return "true"
	case No:
		return "false"
	}
	return ""
}

// Facts is what is known about one door. The zero value knows nothing; an empty
// string means the same as the fact's word for "not known".
type Facts struct {
	Swing     Swing   `json:"swing"`
	Leaves    Leaves  `json:"leaves"`
	Lock      Lock    `json:"lock"`
	Guard     Tri     `json:"guard"` // a plate covers the latch
	Plunger   Plunger `json:"plunger"`
	Gap       Gap     `json:"gap"`
	Undercut  Tri     `json:"undercut"`  // room under the door for a rod
	Lever     Tri     `json:"lever"`     // a lever handle inside, not a knob
	Thumbturn Tri     `json:"thumbturn"` // a thumbturn inside that can be seen or is known
	Sensor    Tri     `json:"sensor"`    // a motion sensor inside releases the lock
	Urgency   Urgency `json:"urgency"`

	Bolt     Tri      `json:"bolt,omitzero"` // a bolt is thrown
	Hinges   Hinges   `json:"hinges,omitempty"`
	Fire     Tri      `json:"fire,omitzero"`     // fire or smoke shows
	Gas      Tri      `json:"gas,omitzero"`      // flammable gas or vapour is suspected
	Glass    Tri      `json:"glass,omitzero"`    // glass in or beside the door within reach of the lock
	Ajar     Tri      `json:"ajar,omitzero"`     // the door stands open now
	Finished Tri      `json:"finished,omitzero"` // the call is over, only the door is left to see to
	Spent    Tri      `json:"spent,omitzero"`    // every way that leaves the door whole was tried, only the costly ones are left
	Failed   []string `json:"failed,omitempty"`  // ways already tried without success, as in [Step].Way
}

// MarshalJSON writes every base fact, with its word for "not known" or the
// assumed value (leaves single, urgency routine), and the richer facts that are
// known.
func (f Facts) MarshalJSON() ([]byte, error) {
	type plain Facts
	f = f.Assumed()
	f.Hinges = Hinges(known(string(f.Hinges)))
	return json.Marshal(plain(f))
}

// Assumed fills what is not known: the word for it, or the value that is taken
// for granted (leaves single, urgency routine).
func (f Facts) Assumed() Facts {
	f.Swing = orElse(f.Swing, SwingUnknown)
	f.Leaves = orElse(f.Leaves, LeavesSingle)
	f.Lock = orElse(f.Lock, LockUnknown)
	f.Plunger = orElse(f.Plunger, PlungerUnseen)
	f.Gap = orElse(f.Gap, GapUnknown)
	f.Hinges = orElse(f.Hinges, HingesUnknown)
	f.Urgency = orElse(f.Urgency, UrgencyRoutine)
	return f
}

func orElse[T ~string](value, fallback T) T {
	if value == "" {
		return fallback
	}
	return value
}

// known maps the words for "not known" to the empty string.
func known(value string) string {
	if value == "unknown" || value == "unseen" {
		return ""
	}
	return value
}

// AllFacts lists every fact in the order of the JSON form.
func AllFacts() []Fact {
	return []Fact{
		FactSwing, FactLeaves, FactLock, FactGuard, FactPlunger, FactGap, FactUndercut, FactLever,
		FactThumbturn, FactSensor, FactUrgency, FactBolt, FactHinges, FactFire, FactGas, FactGlass,
		FactAjar, FactFinished, FactSpent,
	}
}

// Values lists the values a fact can take when known, nil for a name that is no
// fact. Yes-or-no facts take "true" and "false".
func Values(fact Fact) []string {
	switch fact {
	case FactSwing:
		return []string{"out", "in", "sliding", "overhead"}
	case FactLeaves:
		return []string{"single", "pair"}
	case FactLock:
		return []string{
			"spring-latch", "deadlatch", "deadbolt", "mortise", "narrow-stile", "exit-rim", "exit-vertical-rod",
			"magnetic", "electric-strike", "swing-bar", "room-latch", "chain", "padlock",
		}
	case FactPlunger:
		return []string{"none", "out", "partly", "in"}
	case FactGap:
		return []string{"tight", "normal", "loose"}
	case FactHinges:
		return []string{"outside", "fixed", "inside", "hidden"}
	case FactUrgency:
		return []string{"life", "urgent", "routine"}
	}
	if (&Facts{}).tri(fact) != nil {
		return []string{"true", "false"}
	}
	return nil
}

// Value is the fact's value as text, "" when it is not known.
func (f Facts) Value(fact Fact) string {
	if tri := f.tri(fact); tri != nil {
		return tri.text()
	}
	switch fact {
	case FactSwing:
		return known(string(f.Swing))
	case FactLeaves:
		return string(f.Leaves)
	case FactLock:
		return known(string(f.Lock))
	case FactPlunger:
		return known(string(f.Plunger))
	case FactGap:
		return known(string(f.Gap))
	case FactHinges:
		return known(string(f.Hinges))
	case FactUrgency:
		return string(f.Urgency)
	}
	return ""
}

// Set gives a fact a value from [Values]; "" makes it unknown again. The error
// names the fact and what it can be.
func (f *Facts) Set(fact Fact, value string) error {
	allowed := Values(fact)
	if allowed == nil {
		return fmt.Errorf("set %q: no such fact about a door", fact)
	}
	value = known(value)
	if value != "" && !slices.Contains(allowed, value) {
		return fmt.Errorf("set %s: %q is not one of %q", fact, value, allowed)
	}
	f.assign(fact, value)
	return nil
}

func (f *Facts) assign(fact Fact, value string) {
	switch fact {
	case FactSwing:
		f.Swing = Swing(value)
	case FactLeaves:
		f.Leaves = Leaves(value)
	case FactLock:
		f.Lock = Lock(value)
	case FactPlunger:
		f.Plunger = Plunger(value)
	case FactGap:
		f.Gap = Gap(value)
	case FactHinges:
		f.Hinges = Hinges(value)
	case FactUrgency:
		f.Urgency = Urgency(value)
	default:
		*f.tri(fact) = triFromText(value)
	}
}

func triFromText(value string) Tri {
	switch value {
	case "true":
		return Yes
	case "false":
		return No
	}
	return Unknown
}

// tri points at a yes-or-no fact, nil for the others.
func (f *Facts) tri(fact Fact) *Tri {
	switch fact {
	case FactGuard:
		return &f.Guard
	case FactUndercut:
		return &f.Undercut
	case FactLever:
		return &f.Lever
	case FactThumbturn:
		return &f.Thumbturn
	case FactSensor:
		return &f.Sensor
	case FactBolt:
		return &f.Bolt
	case FactFire:
		return &f.Fire
	case FactGas:
		return &f.Gas
	case FactGlass:
		return &f.Glass
	case FactAjar:
		return &f.Ajar
	case FactFinished:
		return &f.Finished
	case FactSpent:
		return &f.Spent
	}
	return nil
}

// Validate reports the first value that is none of the fact's values, for facts
// that came from outside the program.
func (f Facts) Validate() error {
	for _, fact := range AllFacts() {
		copied := f
		if err := copied.Set(fact, f.Value(fact)); err != nil {
			return err
		}
	}
	return nil
}
