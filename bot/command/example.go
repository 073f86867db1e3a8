package command

import (
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// Texts that show what to type name a rig and a person of the department: an
// example that does not exist there helps nobody. They stand as marks until the
// speaker is known.
const (
	rigMark    = "{rig}"    // the speaker's, or the first with a kit
	rig2Mark   = "{rig2}"   // another one
	memberMark = "{member}" // an officer other than the speaker
)

// exampled puts the department's own names in place of the marks of a reply.
func (r *Request) exampled(reply bot.Reply) bot.Reply {
	replace := r.examples()
	reply.Title, reply.Text = replace(reply.Title), replace(reply.Text)
	reply.Steps, reply.Buttons = slices.Clone(reply.Steps), slices.Clone(reply.Buttons)
	for i, s := range reply.Steps {
		reply.Steps[i] = replace(s)
	}
	for i, b := range reply.Buttons {
		reply.Buttons[i] = bot.Button{Label: replace(b.Label), Value: replace(b.Value)}
	}
	reply.Fields = slices.Clone(reply.Fields)
	for i, f := range reply.Fields {
		reply.Fields[i] = bot.Field{Name: replace(f.Name), Value: replace(f.Value)}
	}
	return reply
}

func (r *Request) examples() func(string) string {
	var names *strings.Replacer
	return func(text string) string {
		if !strings.Contains(text, "{") {
			return text
		}
		if names == nil {
			rig, other := r.exampleRigs()
			names = strings.NewReplacer(rigMark, rig, rig2Mark, other, memberMark, r.exampleMember())
		}
		return names.Replace(text)
	}
}

// exampleRigs are the speaker's rig and another, as crews write them.
func (r *Request) exampleRigs() (own, other string) {
	units := r.Department.KitUnits()
	if len(units) == 0 {
		return "Engine 1", "Engine 2"
	}
	mine := slices.IndexFunc(units, func(u department.Unit) bool { return u.ID == r.Who.Unit })
	if mine < 0 {
		mine = 0
	}
	return r.shortName(units[mine]), r.shortName(units[(mine+1)%len(units)])
}

// shortName is how crews write a rig, where that is read as this one.
func (d *Desk) shortName(u department.Unit) string {
	if u.Type == "" || u.Number == 0 {
		return u.Name
	}
	short := strings.ToUpper(u.Type[:1]) + strconv.Itoa(u.Number)
	if read := d.Reader.Read(short+" strap missing", understand.Context{}); !slices.Equal(read.Units, []string{u.ID}) {
		return u.Name
	}
	return short
}

func (r *Request) exampleMember() string {
	for _, m := range r.Department.MembersWith(department.Officer) {
		if m.ID != r.Who.Person {
			return m.Name
		}
	}
	return "NAME"
}
