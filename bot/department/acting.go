package department

import "time"

// ActingStep is a role that somebody holds for a while, or that ends early. It
// is the body of a journal entry: the file owns people, the database who acts.
type ActingStep struct {
	Member string    `json:"member"`
	Role   Role      `json:"role"`
	Until  time.Time `json:"until"` // for an end, the moment of it
	End    bool      `json:"end,omitempty"`
}

// Acting is a role that a member holds from one moment up to another.
type Acting struct {
	Member      string
	Role        Role
	From, Until time.Time
}

// ActingRoles folds steps, oldest first, into who acted when. at gives the moment
// of a step. A later word about the same member and role ends the earlier one.
func ActingRoles(steps []ActingStep, at func(i int) time.Time) []Acting {
	var all []Acting
	for i, s := range steps {
		for k := range all {
			if all[k].Member == s.Member && all[k].Role == s.Role && all[k].Until.After(at(i)) {
				all[k].Until = at(i)
			}
		}
		if !s.End {
			all = append(all, Acting{s.Member, s.Role, at(i), s.Until})
		}
	}
	return all
}

// ActingAt lists the roles that a member acts in at a moment.
func ActingAt(all []Acting, member string, at time.Time) []Role {
	var roles []Role
	for _, a := range all {
		if a.Member == member && !at.Before(a.From) && at.Before(a.Until) {
			roles = append(roles, a.Role)
		}
	}
	return roles
}
