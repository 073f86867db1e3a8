package command

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/department"
)

var (
	stepSaid    = regexp.MustCompile(`(?i)^request #?(\d{4}-\d{1,3})[ :,]+(.+)$`)
	stepLine    = regexp.MustCompile(`(?i)\bline #?(\d{1,3})\b`)
	stepAmount  = regexp.MustCompile(`\$ ?(\d[\d,]{0,9}(?:\.\d{2})?)`)
	stepPieces  = regexp.MustCompile(`(?i)\b(\d{1,4}) (?:of|pieces|x)\b|\b(?:bought|got) (\d{1,4})\b`)
	stepReason  = regexp.MustCompile(`(?i)[,;]? (?:because|since) (.+?)\.?$`)
	stepInvoice = regexp.MustCompile(`(?i)\b(?:po|order|invoice) (?:no\.? |number )?#?([\w-]{2,20})`)
	stepWhats   = []struct {
		what budget.StepWhat
		said *regexp.Regexp
	}{
		{budget.Corrected, regexp.MustCompile(`(?i)\bcorrect(?:ed|ion)?\b`)},
		{budget.InTheKits, regexp.MustCompile(`(?i)\bin the kits?\b`)},
		{budget.Bought, regexp.MustCompile(`(?i)\b(?:bought|purchased|ordered)\b`)},
		{budget.Cut, regexp.MustCompile(`(?i)\b(?:cut|refused|denied|declined|rejected)\b`)},
		{budget.PartlyFunded, regexp.MustCompile(`(?i)\b(?:part(?:ly)?|partially|granted|funded)\b.*\$|\$.*\b(?:part(?:ly)?|granted|funded)\b`)},
		{budget.Approved, regexp.MustCompile(`(?i)\b(?:approved|granted|funded|passed)\b`)},
	}
)

// submitted are the requests that were handed in, with what became of them.
func (r *Request) submitted(ctx context.Context) ([]budget.Submitted, error) {
	return fold(ctx, r, budget.StepKind, func(entries []bot.Entry) ([]budget.Submitted, error) {
		steps := make([]budget.Step, len(entries))
		for i, e := range entries {
			step, err := budget.ReadStep(e)
			if err != nil {
				return nil, err
			}
			steps[i] = step
		}
		all, _ := budget.Submissions(steps) // what is refused was refused when it was typed
		return all, nil
	})
}

// handIn shows the lead what is about to be frozen; the next tap does it.
func (r *Request) handIn(ctx context.Context) (Result, error) {
	if !r.Who.May(department.Lead) {
		return Result{}, bot.SayLeadOnly.With()
	}
	request, err := r.draftRequest(ctx)
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{
		Title: fmt.Sprintf("Hand in the request for fiscal year %d?", request.Year),
		Text:  r.totalWords(request.OfYear(request.Year)) + fmt.Sprintf(" It is frozen as it stands now, signed by %s. What changes later stands beside it.", r.Who.Member.Name),
	}
	if n := len(request.Problems); n > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "To be looked at before", Value: plural(n, "point")})
		reply.Buttons = append(reply.Buttons, budgetButton("What is to be looked at", "problems"))
	}
	reply.Buttons = append(reply.Buttons, budgetButton("Sign and hand in", fmt.Sprintf("sign:%d", request.OfYear(request.Year).Total)))
	return Answer(reply), nil
}

// signRequest freezes the request, if it still comes to what the lead was shown.
func (r *Request) signRequest(ctx context.Context, shown string) (Result, error) {
	if !r.Who.May(department.Lead) {
		return Result{}, bot.SayLeadOnly.With()
	}
	request, err := r.draftRequest(ctx)
	if err != nil {
		return Result{}, err
	}
	if strconv.FormatInt(request.OfYear(request.Year).Total, 10) != shown {
		return r.handIn(ctx) // something came in between
	}
	past, err := r.submitted(ctx)
	if err != nil {
		return Result{}, err
	}
	frozen, err := budget.Submit(past, request, r.Who.Person, r.Now)
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Request %s is handed in: %s Signed by %s on %s, seal %s. Say what becomes of it: request %s approved.",
		frozen.Number, r.totalWords(request.OfYear(request.Year)), r.Who.Member.Name, r.dayAndYear(r.Now), frozen.Digest[:12], frozen.Number)
	return Result{
		Posts:   []Post{{OnPressed: true, Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: budget.HandIn(frozen).Entry()}},
	}, nil
}

// stepRequest notes what became of a request, or of a line of it.
func (r *Request) stepRequest(ctx context.Context) (Result, error) {
	said := stepSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	if line := lineAlone.FindStringSubmatch(said[2]); line != nil {
		return r.frozenLine(ctx, said[1], line[1])
	}
	if !r.Who.May(department.Lead) {
		return Result{}, bot.SayLeadOnly.With()
	}
	past, err := r.submitted(ctx)
	if err != nil {
		return Result{}, err
	}
	request, ok := budget.Find(past, said[1])
	if !ok {
		return Result{}, bot.SayBudgetNoRequest.With(said[1])
	}
	step, err := r.readStep(request, said[2])
	if err != nil {
		return Result{}, err
	}
	if err := budget.CheckStep(past, step); err != nil {
		return Result{}, err
	}
	about := "the whole request"
	if life, ok := request.Line(step.Line); ok {
		about = life.Line.Title
	}
	text := fmt.Sprintf("Request %s, %s: %s", request.Number, about, step.What)
	if step.Pieces > 0 {
		text += fmt.Sprintf(", %s", plural(step.Pieces, "piece"))
	}
	if step.Cents > 0 {
		text += ", " + r.money(step.Cents)
	}
	if step.Reason != "" {
		text += ", " + step.Reason
	}
	if life, ok := request.Line(step.Line); ok && step.What == budget.Bought && life.Paid+step.Cents > life.Granted {
		text += fmt.Sprintf(". That is %s more than was granted", r.money(life.Paid+step.Cents-life.Granted))
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text + ".", Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: step.Entry()}},
	}, nil
}

// lineAlone asks for a line of a request that was handed in.
var lineAlone = regexp.MustCompile(`(?i)^(?:show )?line #?(\d{1,3})$`)

// frozenLine shows a line of a request as it was handed in, and what became of it.
func (r *Request) frozenLine(ctx context.Context, number, line string) (Result, error) {
	past, err := r.submitted(ctx)
	if err != nil {
		return Result{}, err
	}
	request, ok := budget.Find(past, number)
	n := smallNumber(line)
	switch {
	case !ok:
		return Result{}, bot.SayBudgetNoRequest.With(number)
	case n < 1 || n > len(request.Lines):
		return Result{}, bot.SayBudgetWhichLine.With(number)
	}
	result, err := r.explained(request.Request, request.Lines[n-1].Line, n)
	if err != nil {
		return Result{}, err
	}
	reply := &result.Posts[0].Reply
	reply.Title = "Request " + number + ", " + lowerFirst(reply.Title)
	reply.Fields = append([]bot.Field{{Name: "What became of it", Value: request.Lines[n-1].Words(r.Department.Currency)}}, reply.Fields...)
	return result, nil
}

// readStep reads what a sentence says of a request: the step, the line by its
// number, how many, how much, and why.
func (r *Request) readStep(request budget.Submitted, words string) (budget.Step, error) {
	step := budget.Step{Number: request.Number, By: r.Who.Person, At: r.Now}
	if belowZero.MatchString(" " + words) {
		return step, bot.SayBudgetNegative.With()
	}
	if reason := stepReason.FindStringSubmatchIndex(words); reason != nil {
		step.Reason, words = words[reason[2]:reason[3]], words[:reason[0]]
	}
	for _, w := range stepWhats {
		if w.said.MatchString(words) {
			step.What = w.what
			break
		}
	}
	if step.What == "" {
		return step, bot.SayBudgetStepHow.With(request.Number)
	}
	if said := stepLine.FindStringSubmatch(words); said != nil {
		n := smallNumber(said[1])
		if n < 1 || n > len(request.Lines) {
			return step, bot.SayBudgetWhichLine.With(request.Number)
		}
		step.Line = request.Lines[n-1].Line.Key
		words = strings.Replace(words, said[0], " ", 1)
	}
	if said := stepAmount.FindStringSubmatch(words); said != nil {
		cents, ok := centsOf(said[1])
		if !ok {
			return step, bot.SayFormPrice.With()
		}
		if cents == 0 {
			return step, bot.SayBudgetNegative.With()
		}
		step.Cents = int64(cents)
		words = strings.Replace(words, said[0], " ", 1)
	}
	if said := stepPieces.FindStringSubmatch(words); said != nil {
		step.Pieces = smallNumber(cmp.Or(said[1], said[2]))
	}
	if said := stepInvoice.FindStringSubmatch(words); said != nil && step.What == budget.Bought {
		step.Order = said[1]
	}
	return step, nil
}

// lastRequest shows what became of the request that was handed in last.
func (r *Request) lastRequest(ctx context.Context) (Result, error) {
	past, err := r.submitted(ctx)
	switch {
	case err != nil:
		return Result{}, err
	case len(past) == 0:
		return Say("No request was handed in yet. To hand in this year's, type: hand in the request."), nil
	}
	request := past[len(past)-1]
	if said := requestNumber.FindString(r.Event.Text); said != "" {
		var ok bool
		if request, ok = budget.Find(past, said); !ok {
			return Result{}, bot.SayBudgetNoRequest.With(said)
		}
	}
	opening := request.Opening(request.Request.Year)
	reply := bot.Reply{
		Title: fmt.Sprintf("Request %s, fiscal year %d, signed by %s on %s", request.Number, opening.Year, r.memberName(request.Signer), r.dayAndYear(request.At)),
		Text:  opening.Words(),
	}
	if !request.Intact() {
		reply.Text = "The text of this request is not the one that was signed. " + reply.Text
	}
	plain, more := 0, 0
	for i, l := range request.Lines {
		switch {
		case l.Line.Year != opening.Year:
		case l.Decided == budget.Approved && l.Bought == 0:
			plain++
		case len(reply.Steps) == mostAsked:
			more++
		default:
			reply.Steps = append(reply.Steps, fmt.Sprintf("Line %d. %s (%s): %s", i+1, l.Line.Title, l.Line.Kind, l.Words(r.Department.Currency)))
		}
	}
	if plain > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Approved and not bought yet", Value: plural(plain, "line")})
	}
	if more > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Besides", Value: plural(more, "line") + ", in: kitbell budget --number " + request.Number})
	}
	for _, c := range opening.Corrections {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Correction, " + r.dayAndYear(c.At), Value: c.Reason})
	}
	return Answer(reply), nil
}

var requestNumber = regexp.MustCompile(`\b\d{4}-\d{1,3}\b`)
