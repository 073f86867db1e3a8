package kit

import (
	"slices"
	"time"
)

// Move is somebody's word that a kit is at another place from now on. It is the
// body of a journal entry. Due is when it is expected back, zero when nobody
// said: a day that passes brings no kit home by itself.
type Move struct {
	Kit string    `json:"kit"`
	To  Place     `json:"to"`
	Due time.Time `json:"due,omitzero"`
}

// Fleet is where every kit of a department is. Each kit is at one place only.
type Fleet struct {
	kits []Kit
	due  map[string]time.Time
}

// NewFleet puts the kits of a department's file where their last moves, oldest
// first, have brought them. A move of a kit that the file does not know any more
// counts for nothing.
func NewFleet(kits []Kit, moves []Move) Fleet {
	f := Fleet{kits: slices.Clone(kits), due: make(map[string]time.Time)}
	for _, m := range moves {
		for i := range f.kits {
			if f.kits[i].ID == m.Kit {
				f.kits[i].Place = m.To
				f.due[m.Kit] = m.Due
			}
		}
	}
	return f
}

// Sealing is a new tag on a kit, after a full check. It is the body of a journal
// entry. An empty Tag leaves the kit without one.
type Sealing struct {
	Kit string `json:"kit"`
	Tag string `json:"tag"`
}

// Packing is a kit that was brought to another version of the kit list. It is
// the body of a journal entry.
type Packing struct {
	Kit  string `json:"kit"`
	List int    `json:"list"`
}

// With is the fleet with its kits' last tags and the lists that they were packed
// to since, oldest first. The fleet itself stays as it is.
func (f Fleet) With(sealed []Sealing, packed []Packing) Fleet {
	f.kits = slices.Clone(f.kits)
	for i := range f.kits {
		for _, s := range sealed {
			if s.Kit == f.kits[i].ID {
				f.kits[i].Seal = s.Tag
			}
		}
		for _, p := range packed {
			if p.Kit == f.kits[i].ID {
				f.kits[i].List = max(f.kits[i].List, p.List) // the file may have gone on since
			}
		}
	}
	return f
}

// All gives every kit, in the file's order.
func (f Fleet) All() []Kit { return slices.Clone(f.kits) }

// On gives the kits that a unit carries, in the file's order: none, one, or two
// when another rig's kit rides along.
func (f Fleet) On(unit string) []Kit {
	var on []Kit
	for _, k := range f.kits {
		if k.Place == (Place{Kind: OnUnit, At: unit}) {
			on = append(on, k)
		}
	}
	return on
}

// Kit finds a kit by its id, at the place where it is.
func (f Fleet) Kit(id string) (k Kit, ok bool) {
	i := slices.IndexFunc(f.kits, func(k Kit) bool { return k.ID == id })
	if i < 0 {
		return Kit{}, false
	}
	return f.kits[i], true
}

// Due is when a kit is expected back; zero when nobody said.
func (f Fleet) Due(id string) time.Time { return f.due[id] }
