package understand

import (
	"regexp"
	"strconv"
	"strings"

	"kitbell/bot/kit"
)

// LineStep is what somebody says they did with lines of the queue. Its zero
// value says nothing.
type LineStep struct {
	To      kit.State      // state that the lines are brought to; empty when only more is said of them
	Where   kit.Whereabout // written off
	Reopen  bool
	Came    int   // pieces that came, of CameOf
	CameOf  int   // 0 when the message does not say of how many
	Cents   int64 // price paid
	Note    string
	ByPlace bool // the lines are those of the rigs or the station named, not of Numbers
}

// Empty says whether nothing was said of a line.
func (l LineStep) Empty() bool { return l == LineStep{} }

// What is said of lines is short and of few shapes, with the line's number in
// front or right behind the verb: "41 ordered, PO 7731, here Friday, $118",
// "took 41 and 42", "got 2 of 4 in for 41". A number anywhere else is a count.
const (
	lineNumbers = `(?:lines?\s*)?#?(\d{1,9}(?:\s*(?:,|and|&|\+)\s*(?:line\s*)?#?\d{1,9})*)`
	lineVerbs   = `(take|taken|took|taking|grabbed|grabbing|ordered|on order|expected|due|coming|in hand|arrived|showed up|turned up|came in|came|received|here now|dropped off|delivered|` +
		`back in the kit|in the kit|back in the bag|in the bag|back in kit|in kit|not a fault|no fault|reopened|reopen|written off|write off|writing off|wrote off)`
)

var (
	numbersFirst = regexp.MustCompile(`^` + lineNumbers + `\s*(?:'s|is|are|was|were|has|have|:|,|-)?\s*(?:all\s+|now\s+|both\s+)?` + lineVerbs + `\b`)
	verbFirst    = regexp.MustCompile(`^(?:ok(?:ay)?,?\s+)?(?:i|we|i've|we've|ive|i'll|ill|we'll|i'm|im|have)?\s*(?:have\s+|just\s+|will\s+|am\s+)?` + lineVerbs + `:?\s*` + lineNumbers + `\s*(?:$|[.,;!]|(?:today|tomorrow|from|po|order|at|here|due|expected|on|now|because)\b|\$)`)
	partCame     = regexp.MustCompile(`^(?:got|received|have|only)?\s*(\d{1,3})\s+(?:of|out of)\s+(\d{1,3})\s+(?:came\s+|are\s+)?(?:in\s+)?(?:for|on)\s+` + lineNumbers + `|^` + lineNumbers + `\s*[:,-]?\s*(?:got|received|only)?\s*(\d{1,3})\s+(?:of|out of)\s+(\d{1,3})\s+(?:came|in|here|arrived|received)\b`)
	lineNote     = regexp.MustCompile(`^note(?:\s+(?:on|for|to))?\s+(?:line\s*)?#?(\d{1,9})\s*[:,-]?\s+(\S.*)$`)
	putInKit     = regexp.MustCompile(`^(?:i\s+|we\s+|just\s+)?(?:put|placed)\s+` + lineNumbers + `\s+(?:back\s+)?in(?:to)?\s+(?:the|our|their)\s+(?:kit|bag)\b`)
	lineLost     = regexp.MustCompile(`^(?:` + lineNumbers + `\s+is|lines?\s+#?(\d{1,9}(?:\s*(?:,|and|&|\+)\s*#?\d{1,9})*)\s+(?:is|are))\s+(?:now\s+)?lost\s*(?:$|[.,;!])`)
	placeDropped = regexp.MustCompile(`^(?:i\s+|we\s+|just\s+|i just\s+)?(?:dropped off|delivered)\b`)
	paidWords    = regexp.MustCompile(`\$\s*(\d{1,7})(?:\.(\d\d))?\b|\b(\d{1,7})(?:\.(\d\d))?\s*(?:dollars|bucks)\b`)
	orderWords   = regexp.MustCompile(`\b(?:po|p\.o\.|order(?: number| no\.?)?)\s*#?\s*([a-z]{0,4}-?\d[a-z0-9-]{0,20})\b`)
	wholeNumber  = regexp.MustCompile(`\d+`)
)

// lineStates are the states by the verb that names them.
var lineStates = map[string]kit.State{
	"take": kit.Taken, "taken": kit.Taken, "took": kit.Taken, "taking": kit.Taken,
	"grabbed": kit.Taken, "grabbing": kit.Taken, "ordered": kit.Ordered, "on order": kit.Ordered,
	"expected": kit.Ordered, "due": kit.Ordered, "coming": kit.Ordered,
	"in hand": kit.InHand, "arrived": kit.InHand, "showed up": kit.InHand, "turned up": kit.InHand,
	"here now": kit.InHand, "came in": kit.InHand, "came": kit.InHand, "received": kit.InHand,
	"dropped off": kit.Dropped, "delivered": kit.Dropped, "back in the kit": kit.BackInKit, "in the kit": kit.BackInKit,
	"back in the bag": kit.BackInKit, "in the bag": kit.BackInKit, "back in kit": kit.BackInKit, "in kit": kit.BackInKit, "not a fault": kit.NotAFault, "no fault": kit.NotAFault,
}

// readLineStep reads what is said of lines of the queue, with their numbers, the
// order's number and the price.
func (s *sheet) readLineStep(out *Reading) {
	said := strings.ToLower(strings.TrimSpace(s.text))
	numbers, step := stepOf(said)
	if len(numbers) == 0 {
		if placeDropped.MatchString(said) && (out.UnitNamed || out.Station != "") {
			out.Step = LineStep{To: kit.Dropped, ByPlace: true}
		}
		return
	}
	out.Step, out.Numbers = step, numbers
	if paid := paidWords.FindStringSubmatch(said); paid != nil {
		whole, _ := strconv.ParseInt(paid[1]+paid[3], 10, 64)
		part, _ := strconv.ParseInt("0"+paid[2]+paid[4], 10, 64)
		out.Step.Cents = whole*100 + part
	}
	if order := orderWords.FindStringSubmatch(said); order != nil {
		out.Order = strings.ToUpper(order[1])
	}
	if _, why, ok := strings.Cut(said, ", "); ok && step.To == kit.NotAFault {
		out.Step.Note = why
	}
}

// stepOf reads the numbers of the lines and what is said of them; no numbers
// when the message is not of such a shape.
func stepOf(said string) ([]int, LineStep) {
	if m := lineNote.FindStringSubmatch(said); m != nil {
		return numbersIn(m[1]), LineStep{Note: m[2]}
	}
	if m := partCame.FindStringSubmatch(said); m != nil {
		came, of, numbers := m[1], m[2], m[3]
		if numbers == "" {
			numbers, came, of = m[4], m[5], m[6]
		}
		n, _ := strconv.Atoi(came)
		all, _ := strconv.Atoi(of)
		return numbersIn(numbers), LineStep{Came: n, CameOf: all}
	}
	if m := lineLost.FindStringSubmatch(said); m != nil {
		return numbersIn(m[1] + m[2]), LineStep{Where: kit.WrittenOff}
	}
	if m := putInKit.FindStringSubmatch(said); m != nil {
		return numbersIn(m[1]), LineStep{To: kit.BackInKit}
	}
	verb, numbers := "", ""
	if m := numbersFirst.FindStringSubmatch(said); m != nil {
		numbers, verb = m[1], m[2]
	} else if m := verbFirst.FindStringSubmatch(said); m != nil {
		verb, numbers = m[1], m[2]
	}
	step := LineStep{To: lineStates[verb]}
	switch verb {
	case "reopen", "reopened":
		step.Reopen = true
	case "written off", "write off", "writing off", "wrote off":
		step.Where = kit.WrittenOff
	}
	return numbersIn(numbers), step
}

func numbersIn(text string) []int {
	var all []int
	for _, digits := range wholeNumber.FindAllString(text, -1) {
		if n, err := strconv.Atoi(digits); err == nil {
			all = append(all, n)
		}
	}
	return all
}
