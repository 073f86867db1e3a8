package command

// note is the body of a note to somebody's desk.
type note struct {
	Desk string `json:"desk"`
	Text string `json:"text"`
	Unit string `json:"unit,omitempty"`
}

// asker names who speaks for people who read it elsewhere.
func (r *Request) asker() string {
	name := r.Who.Member.Name
	if name == "" {
		name = "a crew member"
	}
	if r.Who.Unit != "" {
		name += ", " + r.unitName(r.Who.Unit)
	}
	return name
}
