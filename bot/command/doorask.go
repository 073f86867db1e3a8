package command

import (
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// answer is what a tap on one of the first two questions says of a door.
type answer struct{ label, word, facts string }

// The standing DOOR button asks two questions before it plans: three taps in
// all. What cannot be told is left out, and never asked again.
var (
	swingAnswers = []answer{{"Toward you", "toward", "swing=out"}, {"Away", "away", "swing=in"}, {"Can't tell", "unsure", ""}}
	holdAnswers  = []answer{
		{"Latch", "latch", "lock=spring-latch"}, {"Guard plate", "plate", "guard=true"}, {"Bolt", "bolt", "lock=deadbolt"},
		{"Glass", "glass", "glass=true,lock=narrow-stile"}, {"Room guard", "room", "lock=swing-bar"}, {"Don't know", "unsure", ""},
	}
)

// startDoor asks which way the door opens. Somebody whose crew is at a door
// already gets its plan.
func (r *Request) startDoor() (Result, error) {
	if r.joined {
		return r.showPlan()
	}
	return Answer(questionOf("Which way does it open?", "at:", swingAnswers)), nil
}

// askDoor takes the answers given so far, toward or toward:latch, and asks for
// the next or plans.
func (r *Request) askDoor(given string) (Result, error) {
	first, second, both := strings.Cut(given, ":")
	swing, ok := find(swingAnswers, first)
	if !ok {
		return Result{}, bot.SayOldButton.With()
	}
	if !both {
		return Answer(questionOf("What holds it?", "at:"+first+":", holdAnswers)), nil
	}
	hold, ok := find(holdAnswers, second)
	if !ok {
		return Result{}, bot.SayOldButton.With()
	}
	r.Memory.Running, r.joined = nil, false
	for _, a := range []answer{swing, hold} {
		if a.facts == "" {
			continue
		}
		if err := r.setFacts(a.facts); err != nil {
			return Result{}, err
		}
	}
	r.unsure = unsureOf(first, second)
	return r.showPlan()
}

func unsureOf(swing, hold string) []door.Fact {
	var facts []door.Fact
	if swing == "unsure" {
		facts = append(facts, door.FactSwing)
	}
	if hold == "unsure" {
		facts = append(facts, door.FactLock)
	}
	return facts
}

func find(answers []answer, word string) (answer, bool) {
	i := slices.IndexFunc(answers, func(a answer) bool { return a.word == word })
	if i < 0 {
		return answer{}, false
	}
	return answers[i], true
}

// questionOf is a question of the standing button. Somebody's down stands under
// every one of them.
func questionOf(text, ref string, answers []answer) bot.Reply {
	reply := bot.Reply{Text: text}
	verb := string(understand.Door) + ":"
	for _, a := range answers {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: a.label, Value: verb + ref + a.word})
	}
	reply.Buttons = append(reply.Buttons, bot.Button{Label: somebodyDown, Value: verb + "down"})
	return reply
}

// mostLooks is how many answers to a look are offered: the likeliest. The rest
// can be typed.
const mostLooks = 3

// addLook asks the one question whose answer saves most, with its answers as
// buttons. What could not be told once is not asked again.
func (r *Request) addLook(reply *bot.Reply, look *door.Look) {
	if look == nil {
		return
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Look", Value: lookWords(look.Fact)})
	for _, v := range look.Values[:min(len(look.Values), mostLooks)] {
		reply.Buttons = append(reply.Buttons, r.setButton(look.Fact, v, ""))
	}
	reply.Buttons = append(reply.Buttons, r.doorButton("Can't tell", "unsure:"+string(look.Fact)))
}

// setButton says one fact, and takes back what cannot be true beside it.
func (r *Request) setButton(fact door.Fact, value string, takeBack door.Fact) bot.Button {
	said := string(fact) + "=" + value
	if takeBack != "" {
		said += "," + string(takeBack) + "="
	}
	return r.doorButton(upperFirst(factWords(fact, value)), "set:"+said)
}

// addContradiction asks about facts that cannot all be true, with the values of
// the first as buttons. Whoever keeps what they said takes the other fact back.
func (r *Request) addContradiction(reply *bot.Reply, c door.Contradiction) {
	reply.Fields = append(reply.Fields, bot.Field{Name: "Which is it", Value: c.Say})
	fact := c.Facts[0]
	now := r.facts().Value(fact)
	var other door.Fact
	if len(c.Facts) > 1 {
		other = c.Facts[1]
	}
	for _, v := range likelyValues(fact, now) {
		takeBack := other
		if v != now {
			takeBack = ""
		}
		reply.Buttons = append(reply.Buttons, r.setButton(fact, v, takeBack))
	}
}

// inDoubt is the first fact that the message said two ways, or only wondered
// about, and that nobody has settled; "" for none.
func (r *Request) inDoubt() door.Fact {
	facts := r.facts()
	for _, name := range r.Reading.Doubted {
		if fact := door.Fact(name); facts.Value(fact) == "" && !slices.Contains(r.unsure, fact) {
			return fact
		}
	}
	return ""
}

// addDoubt asks which of two things it is, or to look.
func (r *Request) addDoubt(reply *bot.Reply, fact door.Fact) {
	reply.Fields = append(reply.Fields, bot.Field{Name: "Which is it", Value: lookWords(fact)})
	for _, v := range likelyValues(fact, "") {
		reply.Buttons = append(reply.Buttons, r.setButton(fact, v, ""))
	}
	reply.Buttons = append(reply.Buttons, r.doorButton("Can't tell", "unsure:"+string(fact)))
}

// likelyValues are the values of a fact that are worth a button, with the one
// that was said.
func likelyValues(fact door.Fact, now string) []string {
	values := door.Values(fact)
	switch fact {
	case door.FactSwing:
		values = values[:2]
	case door.FactLock:
		values = []string{"spring-latch", "deadlatch", "deadbolt", "mortise", "narrow-stile", "exit-rim", "swing-bar", "room-latch"}
	case door.FactUrgency:
		values = []string{"life", "urgent", "routine"}
	}
	if now != "" && !slices.Contains(values, now) {
		values = append([]string{now}, values...)
	}
	return values
}

// fixDoor puts right what was misunderstood: which fact, and then which value.
func (r *Request) fixDoor(name string) (Result, error) {
	if name == "" {
		return r.askWhichFact(), nil
	}
	fact := door.Fact(name)
	if door.Values(fact) == nil {
		return Result{}, bot.SayOldButton.With()
	}
	reply := bot.Reply{Text: lookWords(fact)}
	for _, v := range likelyValues(fact, "") {
		reply.Buttons = append(reply.Buttons, r.setButton(fact, v, ""))
	}
	reply.Buttons = append(reply.Buttons, r.doorButton("Can't tell", "set:"+name+"="))
	return Answer(reply), nil
}

func (r *Request) askWhichFact() Result {
	reply := bot.Reply{Text: "What is wrong? Tap it, or type it right: no, it opens away."}
	for _, fact := range door.AllFacts() {
		if v := r.facts().Value(fact); v != "" {
			reply.Buttons = append(reply.Buttons, r.doorButton(upperFirst(factWords(fact, v)), "fix:"+string(fact)))
		}
	}
	reply.Buttons = append(reply.Buttons, r.doorButton("Another door", "another"))
	return Answer(reply)
}
