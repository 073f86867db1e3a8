package command

import (
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
)

// rollOutReply says how far each roll-out has come: by crews and members to all,
// with the names still to go to the lead alone, and to an officer of those who wait
// for their word. Nobody is ranked.
func (r *Request) rollOutReply(open []training.RollOut) bot.Reply {
	if len(open) == 0 {
		return bot.Reply{Text: "No tool is being rolled out. The lead begins one: roll out the fork."}
	}
	reply := bot.Reply{Title: "Roll-outs", Private: r.Who.May(department.Officer)}
	for _, o := range open {
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(r.itemName(o.Item)), Value: r.howFar(o)})
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Hands on the " + r.itemName(o.Item), Value: rollOutValue("had", o.Item)})
		reply.Buttons = append(reply.Buttons, r.confirmButtons(o)...)
		if r.Who.May(department.Lead) {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: "Finish: " + r.itemName(o.Item), Value: rollOutValue("finish", o.Item)})
		}
	}
	return reply
}

// askFinish asks the lead once more: it opens the tool to crews that have not had
// it in hand.
func (r *Request) askFinish(o training.RollOut) Result {
	without := 0
	crews := r.crews()
	for _, c := range crews {
		if training.Held([]training.RollOut{o}, o.Item, c) {
			without++
		}
	}
	name, c := r.itemName(o.Item), o.Coverage(r.roster())
	words := fmt.Sprintf("Finish the roll-out of the %s? Every crew's plans may use it then.", name)
	if without > 0 || c.Done < c.Of {
		words += fmt.Sprintf(" Not had it in hand: %d of %d crews. Not confirmed: %d of %d members.", without, len(crews), c.Of-c.Done, c.Of)
	}
	return Answer(bot.Reply{Text: words, Private: true, Buttons: []bot.Button{{Label: "Yes, finish it", Value: rollOutValue("finish", o.Item+":yes")}}})
}

// howFar is one roll-out in numbers, and for the lead in names.
func (r *Request) howFar(o training.RollOut) string {
	var waiting []string
	crews := r.crews()
	for _, c := range crews {
		if training.Held([]training.RollOut{o}, o.Item, c) {
			waiting = append(waiting, r.unitName(c.Unit)+" "+c.Platoon)
		}
	}
	c := o.Coverage(r.roster())
	words := fmt.Sprintf("%d of %d crews, %d of %d members confirmed", len(crews)-len(waiting), len(crews), c.Done, c.Of)
	if c.Said > 0 {
		words += fmt.Sprintf(", %d tapped and not confirmed", c.Said)
	}
	words += "."
	if len(waiting) > 0 {
		words += " Crews still to go: " + strings.Join(waiting, ", ") + "."
	}
	if waiting := r.waitingFor(o); len(waiting) > 0 {
		words += " Waiting for your word: " + r.peopleWords(waiting) + "."
	}
	if r.Who.May(department.Lead) {
		words += r.stillToGo(c)
	}
	return words
}

// mostNames is how many of those still to go are named in one reply.
const mostNames = 200

// stillToGo names who has not had it, with why where they are away.
func (r *Request) stillToGo(c training.Coverage) string {
	var still []training.Person
	for _, p := range c.ToGo {
		if !p.Said {
			still = append(still, p.Person)
		}
	}
	if len(still) == 0 {
		return ""
	}
	return " Members still to go: " + r.peopleWords(still) + "."
}

// peopleWords names people, with why where they are away.
func (r *Request) peopleWords(people []training.Person) string {
	var names []string
	for _, p := range people[:min(len(people), mostNames)] {
		name := r.memberName(p.ID)
		if p.Away != "" {
			name += " (" + string(p.Away) + ")"
		}
		names = append(names, name)
	}
	if more := len(people) - mostNames; more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(names, ", ")
}

// crews are the crews of the rigs with a kit that somebody rides on; where the
// file names nobody, all of them.
func (r *Request) crews() []training.Crew {
	var all, crews []training.Crew
	for _, u := range r.Department.KitUnits() {
		for _, p := range r.Department.Rotation.Platoons() {
			crew := training.Crew{Unit: u.ID, Platoon: p}
			all = append(all, crew)
			if slices.ContainsFunc(r.Department.Members, func(m department.Member) bool { return m.Unit == u.ID && m.Platoon == p && !m.Has(department.Guest) }) {
				crews = append(crews, crew)
			}
		}
	}
	if len(crews) == 0 {
		return all
	}
	return crews
}

// roster is everybody who rides, as training sees them.
func (r *Request) roster() []training.Person {
	var all []training.Person
	for _, m := range r.Department.Members {
		if m.Unit == "" || m.Has(department.Guest) {
			continue
		}
		all = append(all, training.Person{ID: m.ID, Crew: training.Crew{Unit: m.Unit, Platoon: m.Platoon}, Away: awayOf(m)})
	}
	return all
}
