package demo

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"kitbell/bot/department"
)

// Seed is the seed of the roster in department.yaml.
const Seed = 2026

// Given and family names that were made up or are seldom; no pair is meant to
// be anybody.
const (
	givenNames = `Abren Adair Alder Anselm Arlo Asa Auden Bexley Brannoc Briony Calla Cassian Corin Dara Delphine Edda Elior Ember
		Eskil Fenna Fintan Galen Greta Halden Hollis Idris Imre Isolde Jorah Juno Kael Kerensa Lark Leif Linnea Lorcan Maren Mattias
		Merrin Nadir Neve Oren Orla Petra Quill Rafe Rhoswen Rune Sable Saskia Soren Tamsin Tavish Teodor Una Vesper Wilder Wren Ysolt Zora`
	familyNames = `Aldwater Ashgrove Barrowby Birkmoor Brackwell Bramholt Cairnwood Caldbeck Cindermoor Coldmere Copperthorn Crossmere
		Dunmarch Eastholm Elmsworth Fallowdene Farlight Fennimarsh Garthwick Glassby Greyfield Hallowmere Harrowdale Hawksedge Heathmoor-Penn
		Hollinfar Inglemoor Kestrelby Kingsferry-Oake Larkhollow Lindenfar Lowmarsh Marlowhythe Millbeck Mossgarth Netherby-Stone Northwend
		Oakhollow Orrinfell Penhallet Quarrend Ravensett Redmarley Rookhythe Saltmarsh-Vey Sandwick-Orr Sedgewyn Silverbourne Stannory
		Stonebeck Swallowfell Tamarhythe Thistlewood-Ray Thornaby-Lunt Underwick Valeborne Wetherfen Whinmoor Windlesett Yarrowgate`
)

// crew is how many ride a unit in one platoon.
type crew struct {
	unit  string
	size  int
	ranks []string // of its officers, first seats
}

// crews make 47 a platoon.
func crews() []crew {
	return []crew{
		{"engine-1", 4, []string{"Capt."}}, {"ladder-1", 4, []string{"Lt."}}, {"battalion-1", 1, []string{"B.C."}},
		{"engine-2", 4, []string{"Lt."}}, {"rescue-2", 4, []string{"Capt."}}, {"engine-3", 5, []string{"Lt."}},
		{"engine-4", 4, []string{"Capt."}}, {"ladder-4", 4, []string{"Lt."}}, {"engine-5", 3, []string{"Lt."}},
		{"boat-5", 2, []string{"Lt."}}, {"engine-6", 4, []string{"Lt."}}, {"tower-6", 4, []string{"Capt."}},
		{"engine-7", 4, []string{"Lt."}},
	}
}

// Roster makes the department's crews: 47 a platoon, less the one seat that
// Ines Okafor has. The same seed gives the same people.
func Roster(seed uint64) []department.Member {
	random := rand.New(rand.NewPCG(seed, 47))
	names := pairNames(random)
	var all []department.Member
	for _, platoon := range []string{"A", "B", "C"} {
		for _, c := range crews() {
			for seat := range c.size {
				if platoon == "C" && c.unit == "engine-6" && seat == 0 {
					continue // Ines Okafor's
				}
				all = append(all, seated(names[len(all)], platoon, c, seat))
			}
		}
	}
	special(all, random)
	return all
}

func seated(name, platoon string, c crew, seat int) department.Member {
	m := department.Member{ID: strings.ReplaceAll(strings.ToLower(name), " ", "-"), Name: name, Rank: "Firefighter",
		Roles: []department.Role{department.Crew}, Unit: c.unit, Platoon: platoon}
	switch {
	case seat < len(c.ranks):
		m.Rank, m.Roles = c.ranks[seat], []department.Role{department.Officer}
	case seat == len(c.ranks):
		m.Rank = "Engineer"
	}
	return m
}

// special marks two acting officers, six members in their first year, three on
// leave and two on light duty. Nobody is two of these.
func special(all []department.Member, random *rand.Rand) {
	marks := []func(*department.Member){}
	for range 2 {
		marks = append(marks, func(m *department.Member) { m.Acting, m.Roles = true, []department.Role{department.Officer} })
	}
	for range 6 {
		marks = append(marks, func(m *department.Member) { m.Probation = true })
	}
	for range 3 {
		marks = append(marks, func(m *department.Member) { m.Status = department.OnLeave })
	}
	for range 2 {
		marks = append(marks, func(m *department.Member) { m.Status = department.LightDuty })
	}
	for _, i := range random.Perm(len(all)) {
		if len(marks) == 0 {
			return
		}
		if all[i].Rank == "Firefighter" {
			marks[0](&all[i])
			marks = marks[1:]
		}
	}
}

// pairNames puts given and family names together, no pair twice.
func pairNames(random *rand.Rand) []string {
	given, family := strings.Fields(givenNames), strings.Fields(familyNames)
	var names []string
	used := map[string]bool{}
	for range 4 {
		random.Shuffle(len(given), func(i, j int) { given[i], given[j] = given[j], given[i] })
		for i, f := range random.Perm(len(family)) {
			if name := given[i] + " " + family[f]; !used[name] {
				used[name] = true
				names = append(names, name)
			}
		}
	}
	return names
}

// Lines writes members as lines of the file's section.
func Lines(members []department.Member) string {
	var b strings.Builder
	for _, m := range members {
		fmt.Fprintf(&b, "  - {id: %s, name: %s, rank: %s", m.ID, m.Name, m.Rank)
		if !m.Has(department.Crew) {
			fmt.Fprintf(&b, ", roles: [%s]", m.Roles[0])
		}
		fmt.Fprintf(&b, ", unit: %s, platoon: %s", m.Unit, m.Platoon)
		for _, mark := range []struct {
			on   bool
			text string
		}{{m.Acting, "acting: true"}, {m.Probation, "probation: true"}, {m.Status != department.Working, "status: " + string(m.Status)}} {
			if mark.on {
				b.WriteString(", " + mark.text)
			}
		}
		b.WriteString("}\n")
	}
	return b.String()
}
