package command

import (
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// What stands above a plan: what comes before any tool.
const (
	firstLine = "First: right address and door? Announced? Handle, key box, keyholder, another door, a window."
	lifeLine  = "Life at stake: force it. Damage does not count. The officer in charge decides."
)

// gasLine is on every plan where gas may be. It does not say what to leave for a
// life: steel may spark, and the officer weighs that.
const gasLine = "It can burn. No bell, switch, spray, saw or torch. Steel can spark: your officer decides."

// somebodyDown is on every message about a door that is shut.
const somebodyDown = "Somebody's down"

// doorReply is the plan for a person at a door: what to do now, one caution,
// when to stop, what is next. Everything else is a tap away.
func (r *Request) doorReply(plan door.Plan, before *Running) bot.Reply {
	reply := bot.Reply{Text: r.aboveLine(plan)}
	if r.joined {
		reply.Text = fmt.Sprintf("Your crew is at this door since %s. You see its plan.\n", r.Memory.Running.Began.In(r.Department.Zone).Format("15:04")) + reply.Text
	}
	r.addNow(&reply, plan)
	reply.Fields = append(reply.Fields, bot.Field{Name: "I understood", Value: factsWords(r.facts()) + r.changedWords(before)})
	if missing := r.missingWords(plan, mostMissing); missing != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Not at hand", Value: missing})
	}
	if n := unadoptedIn(plan); n > 0 {
		value := fmt.Sprintf("%s that would fit this door. The chief of training types: adopt all cards.", plural(n, "way"))
		reply.Fields = append(reply.Fields, bot.Field{Name: "Not adopted here", Value: value})
	}
	if plan.ForceNow {
		minutes := int(r.Now.Sub(r.Memory.Running.Began).Minutes())
		reply.Fields = append(reply.Fields, bot.Field{Name: "Officer", Value: plural(minutes, "minute") + " at this door. Force now?"})
	}
	r.addButtons(&reply, plan)
	if before == nil {
		reply.Buttons = append(reply.Buttons, r.ownCard("Card: ")...)
	}
	return reply
}

func (r *Request) aboveLine(plan door.Plan) string {
	_, shut := firstAttempt(plan.Steps)
	switch facts := r.facts().Assumed(); {
	case !shut && facts.Finished == door.Yes:
		return "The call is over: leave the door secure."
	case !shut:
		return "It is open: keep it open while you work."
	case facts.Urgency == door.UrgencyLife || facts.Fire == door.Yes:
		return lifeLine
	case r.Memory.Running.Forced:
		return "On your officer's order: force it."
	}
	return firstLine
}

// addNow writes the four lines.
func (r *Request) addNow(reply *bot.Reply, plan door.Plan) {
	now, next := nowAndNext(plan.Steps)
	for _, s := range now {
		words, take := r.stepWords(s)
		reply.Steps = append(reply.Steps, words)
		if take != "" {
			reply.Fields = append(reply.Fields, bot.Field{Name: "Take", Value: lowerFirst(take)})
		}
	}
	if len(now) == 0 {
		return
	}
	last := now[len(now)-1]
	reply.Fields = append(reply.Fields, bot.Field{Name: "Caution", Value: last.Caution})
	r.addHazards(reply)
	if r.facts().Gas == door.Yes {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Gas", Value: gasLine})
	}
	if last.Kind == door.Attempt {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Stop", Value: "after " + triesWords(last.Tries)})
	}
	if words := r.nextWords(last, next); words != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Then", Value: words})
	}
}

// takenBackLine says that a life is no longer taken to be at stake, so that a
// slip is seen at once.
const takenBackLine = "Taken back: no life at stake, but still in a hurry. Say somebody's down, and forcing comes first again."

// hazardLines say who makes the door safe first. No technique goes before them.
var hazardLines = map[understand.Hazard]string{
	understand.Violence:  "A weapon or a threat: stay out of sight and out of line with the door. Police make it safe first. The officer in charge decides.",
	understand.LiveWires: "Take every wire and all metal near it for live. Stay back, keep others back, and wait for the utility's word.",
}

// addHazards puts the dangers that were said at this door above the steps.
func (r *Request) addHazards(reply *bot.Reply) {
	if r.takenBack {
		reply.Text = takenBackLine + "\n" + reply.Text
	}
	if r.Memory.Running == nil {
		return
	}
	for _, h := range r.Memory.Running.Hazard {
		reply.Text = hazardLines[h] + "\n" + reply.Text
	}
}

// addButtons puts the three that never move first, then the answers to the one
// question, then what is behind the plan.
func (r *Request) addButtons(reply *bot.Reply, plan door.Plan) {
	if _, shut := firstAttempt(plan.Steps); shut {
		reply.Buttons = []bot.Button{r.doorButton("Opened", "opened"), r.doorButton("Not yet", "not-yet"), r.doorButton(somebodyDown, "down")}
	}
	if plan.ForceNow {
		reply.Buttons = append(reply.Buttons, r.doorButton("Force now", "force"))
	}
	switch fact := r.inDoubt(); {
	case len(plan.Contradictions) > 0:
		r.addContradiction(reply, plan.Contradictions[0])
	case fact != "" && r.Memory.Running.Facts.Urgency != door.UrgencyLife: // no question stands before somebody's life
		r.addDoubt(reply, fact)
	default:
		r.addLook(reply, plan.Look)
	}
	reply.Buttons = append(reply.Buttons, r.doorButton("Why", "why"), r.doorButton("Draw it", "draw"), r.doorButton("Fix", "fix"))
}

func triesWords(n int) string {
	if n == 1 {
		return "1 try"
	}
	return fmt.Sprintf("%d tries", n)
}

// nowAndNext splits a plan into what to do now, up to and with the first
// attempt, and what comes after it up to and with the second.
func nowAndNext(steps []door.Step) (now, next []door.Step) {
	part := &now
	for _, s := range steps {
		if s.Kind == door.Before || s.Kind == door.After && part == &next {
			continue
		}
		*part = append(*part, s)
		if s.Kind != door.Attempt {
			continue
		}
		if part == &next {
			return now, next
		}
		part = &next
	}
	return now, next
}

// nextWords says in a few words what comes after an attempt that failed.
func (r *Request) nextWords(now door.Step, next []door.Step) string {
	var words []string
	for _, s := range next {
		switch {
		case s.Kind == door.Attempt && s.Technique == now.Technique:
			words = append(words, "the same again")
		case s.Chance == 1:
			words = append(words, "the irons, on your officer's order")
		default:
			words = append(words, lowerFirst(s.Title))
		}
	}
	return strings.Join(words, ", then ")
}

// moveWords is how many words the tool and its move may have: what is read at a
// glance on a phone held in one hand.
const moveWords = 12

// stepWords is a step in one line: the tool and the move. The tool is not named
// twice, and little words give way before anything else does. take is the tool
// where the line has no room for it.
func (r *Request) stepWords(s door.Step) (words, take string) {
	names := make([]string, len(s.Tools))
	for i, t := range s.Tools {
		names[i] = r.itemName(t)
	}
	last := "and" // the tools that a step takes
	if s.Kind == door.After {
		last = "or" // those that would do
	}
	tools := upperFirst(list(names, last))
	preferred := strings.Join(names, " ")
	if len(s.InsteadOf) > 0 {
		preferred = r.itemName(s.InsteadOf[0])
	} else if tools == "" || mentions(s.Move, names) {
		return s.Move, ""
	}
	words = tools + ": " + lowerFirst(withoutLead(s.Move, preferred))
	if len(strings.Fields(words)) > moveWords {
		words = withoutArticles(words)
	}
	if len(strings.Fields(words)) > moveWords {
		return s.Move, tools
	}
	return words, ""
}

// mentions says whether a move names its tools well enough: what they are, and
// all but one of the words that tell them from others.
func mentions(move string, names []string) bool {
	words := lowerWords(move)
	for _, name := range names {
		parts := lowerWords(name)
		left := slices.DeleteFunc(slices.Clone(parts), func(part string) bool { return slices.Contains(words, part) })
		if len(left) > 1 || len(left) == len(parts) || slices.Contains(left, parts[len(parts)-1]) {
			return false
		}
	}
	return true
}

// withoutLead takes the tool off the front of a move, as in "thin hook in beside
// the latch": the name of the tool at hand stands there.
func withoutLead(move, name string) string {
	words, parts := strings.Fields(move), lowerWords(name)
	for i := range min(2, len(words)-1) {
		if strings.EqualFold(words[i], parts[len(parts)-1]) {
			return strings.Join(words[i+1:], " ")
		}
	}
	return move
}

func lowerWords(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return c < 'a' || c > 'z' })
}

func withoutArticles(words string) string {
	return strings.Join(slices.DeleteFunc(strings.Fields(words), func(w string) bool { return w == "the" || w == "a" }), " ")
}

// changedWords says what this message took back of what was said before.
func (r *Request) changedWords(before *Running) string {
	if before == nil || before.Event != r.Memory.Running.Event {
		return ""
	}
	var words []string
	for _, fact := range door.Changed(before.Facts.Facts, r.facts()) {
		words = append(words, factWords(fact, before.Facts.Value(fact)))
	}
	if len(words) == 0 {
		return ""
	}
	return " (not: " + strings.Join(words, ", ") + ")"
}

// mostMissing is how many missing tools stand in the plan itself; all of them
// are behind why.
const mostMissing = 2

// missingWords names the tools that would bring a technique back and the nearest
// rig whose kit has them, and what stands in for another.
func (r *Request) missingWords(plan door.Plan, most int) string {
	var words []string
	for _, s := range plan.Steps {
		for _, tool := range s.InsteadOf {
			if said := r.itemName(tool) + " (" + r.itemName(s.Tools[0]) + " stands in)"; !slices.Contains(words, said) && s.Kind == door.Attempt {
				words = append(words, said)
			}
		}
	}
	for _, tool := range missingTools(plan) {
		said := r.itemName(tool)
		if unit := r.elsewhere[tool]; unit != "" {
			said += " (" + unit + " has one)"
		}
		words = append(words, said)
	}
	if left := len(words) - most; left > 0 {
		words = append(words[:most], fmt.Sprintf("%d more under why", left))
	}
	return strings.Join(words, "; ")
}
