package training

import "slices"

// Away is why a member is not there to be trained.
type Away string

// The reasons. Zero is none: the member works as usual.
const (
	OnLeave   Away = "leave"
	OnDetail  Away = "detail" // works elsewhere for a while
	LightDuty Away = "light-duty"
)

// Person is a member as training sees one: whose crew, and whether away.
type Person struct {
	ID   string
	Crew Crew
	Away Away
}

// Coverage is how far something has come that everybody is to have: a new tool, a
// course over three platoons.
type Coverage struct {
	Done, Said, Of int            // confirmed; told and not confirmed yet; all on the roster
	Platoons       []PlatoonCount // in the order of the roster
	ToGo           []ToGo         // who is not done, in the order of the roster
}

// PlatoonCount is one platoon's part of it.
type PlatoonCount struct {
	Platoon  string
	Done, Of int
}

// ToGo is a member who is still to have it. Away is the reason, where there is
// one; Said waits for an officer's word only.
type ToGo struct {
	Person
	Said bool
}

// cover counts a roster. Who has left it does not count.
func cover(roster []Person, done, said func(member string) bool) Coverage {
	c := Coverage{Of: len(roster)}
	for _, p := range roster {
		at := slices.IndexFunc(c.Platoons, func(pc PlatoonCount) bool { return pc.Platoon == p.Crew.Platoon })
		if at < 0 {
			at, c.Platoons = len(c.Platoons), append(c.Platoons, PlatoonCount{Platoon: p.Crew.Platoon})
		}
		c.Platoons[at].Of++
		if done(p.ID) {
			c.Done++
			c.Platoons[at].Done++
			continue
		}
		waits := said(p.ID)
		if waits {
			c.Said++
		}
		c.ToGo = append(c.ToGo, ToGo{Person: p, Said: waits})
	}
	return c
}
