package door

import (
	_ "embed"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/goccy/go-yaml/ast"
)

//go:embed assumptions.yaml
var assumptionsYAML []byte

// Marks is how many marks there are, none to door or frame lost.
const Marks = 5

// Assumptions are the figures the model runs on. None was measured: whatever
// rests on them is shown as assumed.
type Assumptions struct {
	Marks        []float64           // worth of each mark, in minutes of a routine call
	Urgency      map[Urgency]float64 // how much of a mark's worth counts
	Calls        map[Urgency]float64 // share of calls with an entry
	LimitMinutes float64             // at a door, then the officer is asked whether to force
	Looks        map[Fact]LookCost
	Kinds        []KindOfDoor          // priors of the holds
	Facts        map[Fact][]FactChance // chance of each fact's values
	Doors        []MixedDoor           // the mix of doors a crew meets
}

// A LookCost is what finding out one fact takes, in minutes, and the chance from
// 0 to 1 that the look tells. Where Unless fits, it cannot be seen at all.
type LookCost struct {
	Minutes, Tells float64
	Unless         Condition
}

// A KindOfDoor is swing x lock with the chance of each hold. Swing "" stands for
// every swing without a row of its own.
type KindOfDoor struct {
	Swing Swing
	Lock  Lock
	Holds map[Hold]float64
}

// A FactChance gives the chance of a fact's values where Given fits the door and
// Holds, if any, has the hold.
type FactChance struct {
	Given  Condition
	Holds  []string
	Values map[string]float64
}

// A MixedDoor is one kind of door in the mix, with its share of all entries.
type MixedDoor struct {
	Name  string
	Share float64
	Facts Facts
}

// DefaultAssumptions reads the assumptions that are part of the program.
func DefaultAssumptions() (Assumptions, error) {
	return Assumptions{}.Override(assumptionsYAML)
}

// Override reads a department's file over the assumptions: tables merge by key,
// kinds by swing and lock, each fact's rows are replaced as a whole, doors by
// name (a share of 0 takes one out). The error lists every mistake with its
// line.
func (a Assumptions) Override(data []byte) (Assumptions, error) {
	root, err := parseYAML(data)
	if err != nil {
		return a, fmt.Errorf("read assumptions: %w", err)
	}
	a = a.clone()
	r := &reader{}
	r.mapping(root, map[string]func(ast.Node){
		"marks":         func(n ast.Node) { a.Marks = r.numbers(n) },
		"urgency":       func(n ast.Node) { table(r, n, FactUrgency, 1, a.Urgency) },
		"calls":         func(n ast.Node) { table(r, n, FactUrgency, 1e6, a.Calls) },
		"limit_minutes": func(n ast.Node) { a.LimitMinutes = r.number(n, 0, 600) },
		"looks":         func(n ast.Node) { r.looks(n, a.Looks) },
		"kinds":         func(n ast.Node) { a.Kinds = r.kinds(n, a.Kinds) },
		"facts":         func(n ast.Node) { r.factChances(n, a.Facts) },
		"doors":         func(n ast.Node) { a.Doors = r.doors(n, a.Doors) },
	})
	if err := errors.Join(r.err(), a.check()); err != nil {
		return a, fmt.Errorf("read assumptions: %w", err)
	}
	return a, nil
}

func (a Assumptions) clone() Assumptions {
	a.Urgency = cloneMap(a.Urgency)
	a.Calls = cloneMap(a.Calls)
	a.Looks = cloneMap(a.Looks)
	a.Facts = cloneMap(a.Facts)
	a.Kinds = slices.Clone(a.Kinds)
	a.Doors = slices.Clone(a.Doors)
	return a
}

// cloneMap copies a map and makes one of nil.
func cloneMap[K comparable, V any](m map[K]V) map[K]V {
	copied := make(map[K]V, len(m))
	for key, value := range m {
		copied[key] = value
	}
	return copied
}

// check finds what a plan could not work with.
func (a Assumptions) check() error {
	if len(a.Marks) != Marks || !slices.IsSorted(a.Marks) {
		return fmt.Errorf("marks: %d rising figures are wanted", Marks)
	}
	for _, urgency := range []Urgency{UrgencyRoutine, UrgencyUrgent, UrgencyLife} {
		if _, ok := a.Urgency[urgency]; !ok {
			return fmt.Errorf("urgency: %s is missing", urgency)
		}
	}
	return nil
}

func (r *reader) numbers(n ast.Node) []float64 {
	var list []float64
	for _, item := range r.items(n) {
		list = append(list, r.number(item, 0, 1e6))
	}
	return list
}

// table reads a mapping from a fact's values to figures.
func table[K ~string](r *reader, n ast.Node, fact Fact, high float64, into map[K]float64) {
	for _, f := range r.fields(n) {
		if !slices.Contains(Values(fact), f.key) {
			r.fail(f.at, "%s cannot be %q, only one of %q", fact, f.key, Values(fact))
		}
		into[K(f.key)] = r.number(f.value, 0, high)
	}
}

func (r *reader) looks(n ast.Node, into map[Fact]LookCost) {
	for _, f := range r.fields(n) {
		if Values(Fact(f.key)) == nil {
			r.fail(f.at, "%q is no fact about a door", f.key)
		}
		var look LookCost
		r.mapping(f.value, map[string]func(ast.Node){
			"minutes": func(n ast.Node) { look.Minutes = r.number(n, 0, 60) },
			"tells":   func(n ast.Node) { look.Tells = r.number(n, 0, 1) },
			"unless":  func(n ast.Node) { look.Unless = r.condition(n) },
		})
		into[Fact(f.key)] = look
	}
}

func (r *reader) kinds(n ast.Node, kinds []KindOfDoor) []KindOfDoor {
	for _, item := range r.items(n) {
		kind := r.kindOfDoor(item)
		same := func(k KindOfDoor) bool { return k.Swing == kind.Swing && k.Lock == kind.Lock }
		if i := slices.IndexFunc(kinds, same); i >= 0 {
			kinds[i] = kind
		} else {
			kinds = append(kinds, kind)
		}
	}
	return kinds
}

func (r *reader) kindOfDoor(n ast.Node) KindOfDoor {
	kind := KindOfDoor{Holds: map[Hold]float64{}}
	var facts Facts
	r.mapping(n, map[string]func(ast.Node){
		"swing": func(n ast.Node) { r.set(&facts, FactSwing, n) },
		"lock":  func(n ast.Node) { r.set(&facts, FactLock, n) },
		"holds": func(n ast.Node) {
			for _, f := range r.fields(n) {
				if !slices.Contains(AllHolds(), Hold(f.key)) {
					r.fail(f.at, "%q is no hold, only one of %q", f.key, AllHolds())
				}
				kind.Holds[Hold(f.key)] = r.number(f.value, 0, 1)
			}
			addsUp(r, n, kind.Holds)
		},
	})
	kind.Swing, kind.Lock = facts.Swing, facts.Lock
	return kind
}

// addsUp checks that chances add up to 1.
func addsUp[K comparable](r *reader, n ast.Node, chances map[K]float64) {
	total := 0.0
	for _, chance := range chances {
		total += chance
	}
	if math.Abs(total-1) > 1e-6 {
		r.fail(n, "the chances add up to %.3g, not 1", total)
	}
}

func (r *reader) set(facts *Facts, fact Fact, n ast.Node) {
	if err := facts.Set(fact, r.text(n)); err != nil {
		r.fail(n, "%v", err)
	}
}

func (r *reader) factChances(n ast.Node, into map[Fact][]FactChance) {
	for _, f := range r.fields(n) {
		fact := Fact(f.key)
		if Values(fact) == nil {
			r.fail(f.at, "%q is no fact about a door", f.key)
			continue
		}
		var rows []FactChance
		for _, item := range r.items(f.value) {
			rows = append(rows, r.factChance(item, fact))
		}
		into[fact] = rows
	}
}

func (r *reader) factChance(n ast.Node, fact Fact) FactChance {
	row := FactChance{Values: map[string]float64{}}
	r.mapping(n, map[string]func(ast.Node){
		"given":  func(n ast.Node) { row.Given, row.Holds = r.given(n) },
		"values": func(n ast.Node) { table(r, n, fact, 1, row.Values); addsUp(r, n, row.Values) },
	})
	return row
}

// given reads a condition on swing, lock and leaves, and the holds beside it.
func (r *reader) given(n ast.Node) (Condition, []string) {
	var condition Condition
	var holds []string
	for _, f := range r.fields(n) {
		switch fact := Fact(f.key); fact {
		case "hold":
			holds = r.texts(f.value)
		case FactSwing, FactLock, FactLeaves:
			condition = append(condition, Clause{fact, r.texts(f.value)})
		default:
			r.fail(f.at, "given names swing, lock, leaves or hold, not %q", f.key)
		}
	}
	return condition, holds
}

func (r *reader) doors(n ast.Node, doors []MixedDoor) []MixedDoor {
	for _, item := range r.items(n) {
		door := r.door(item)
		i := slices.IndexFunc(doors, func(d MixedDoor) bool { return d.Name == door.Name })
		if i >= 0 {
			doors[i] = door
		} else {
			doors = append(doors, door)
		}
	}
	return slices.DeleteFunc(doors, func(d MixedDoor) bool { return d.Share == 0 })
}

func (r *reader) door(n ast.Node) MixedDoor {
	var door MixedDoor
	r.mapping(n, map[string]func(ast.Node){
		"name":  func(n ast.Node) { door.Name = r.text(n) },
		"share": func(n ast.Node) { door.Share = r.number(n, 0, 1e6) },
		"facts": func(n ast.Node) {
			for _, f := range r.fields(n) {
				r.set(&door.Facts, Fact(f.key), f.value)
			}
		},
	})
	if door.Share > 0 && (door.Facts.Value(FactSwing) == "" || door.Facts.Value(FactLock) == "") {
		r.fail(n, "a door in the mix needs its swing and lock")
	}
	return door
}
