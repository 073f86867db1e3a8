package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// BudgetCommand works out the yearly request, answers for it in the hearing, and
// follows it once it was handed in.
func BudgetCommand() Command {
	return Command{
		Name:    string(understand.Budget),
		Usage:   "budget",
		For:     department.Lead,
		Summary: "See the yearly request as it stands: what to replace, to hold and to buy, and what it costs.",
		More: []Example{
			{"budget lines", "See each line with its sums. budget line 3 shows what it rests on."},
			{"why 11 at $118", "See why a line is what it is, with the records behind it. A tool's name does too."},
			{"what if we leave station 7 out", "See the request without some rigs, and what that saves."},
			{"what did we lose last year", "See what was lost, broken or worn out, by item."},
			{"use and loss", "See each kit's year: used, wanted and absent, lost, broken, days short. Add a rig for its records."},
			{"best set under $2000", "See which lines are worth most by the door model under an amount."},
			{"budget add 2 practice locks at 85.00 because the old ones are worn", "Add a line of your own: boards, locks, printing. budget drop practice locks takes it out."},
			{"entry calls march 52, april 47", "Count the entry calls of months, typed or pasted, so that the model's column says what part was recorded."},
			{"hand in the request", "Freeze it under a number, with date and signer."},
			{"request 2028-1 approved", "Say what became of it: approved, line 3 cut because ..., line 4 granted $500, bought 11 of line 2 for $1298, 5 of line 2 in the kits."},
			{"export the records", "Hear how the records behind all of this are handed out."},
			{"last year's request", "See what was asked for, granted, bought and put in the kits."},
		},
		Run: budgetCommand,
	}
}

// budgetWords gives the button that a sentence about the request stands for.
func budgetWords(words string) (press string, ok bool) {
	for _, p := range budgetPhrases {
		if p.said.MatchString(words) {
			return string(understand.Budget) + ":" + p.press, true
		}
	}
	return "", false
}

// ofTheRequest says whether a why is about the request: crews ask why of doors and
// tools. It needs a price or the request's name, or to follow an answer about it.
func (r *Request) ofTheRequest(press string) bool {
	return press != string(understand.Budget)+":why" || r.Who.May(department.Quartermaster) && (r.Memory.Hearing || priceOrName.MatchString(r.Event.Text))
}

var priceOrName = regexp.MustCompile(`(?i)[$£€]|\bat \d|\b(?:line|request|budget|ask for|so many)\b`)

// budgetPhrases are read in this order.
var budgetPhrases = []struct {
	press string
	said  *regexp.Regexp
}{
	{"step", stepSaid},
	{"hand-in", regexp.MustCompile(`(?i)^(?:hand in|submit|freeze|sign) (?:the |our |this )?(?:budget|request|yearly request)\b`)},
	{"opening", regexp.MustCompile(`(?i)\b(?:last year'?s?|previous|old) request\b|^requests?$|\bwhat (?:became|came) of (?:the|our|last) .*request|^request #?\d{4}-\d{1,3}$|\bwhat (?:did|was) (?:we )?(?:get|got|granted|promised)\b.*\blast year`)},
	{"draft", regexp.MustCompile(`(?i)^(?:show )?(?:the |our )?(?:budget |request )?draft(?: now)?$`)},
	{"lines", linesSaid},
	{"line", regexp.MustCompile(`(?i)^(?:show |the )*(?:budget|request) line #?(\d{1,3})$`)},
	{"problems", regexp.MustCompile(`(?i)^(?:budget|request) (?:problems|open points)$|\bwhat is wrong with the (?:budget|request)\b|\bwhat is in no total\b`)},
	{"add", regexp.MustCompile(`(?i)^(?:budget|request) (?:add|plus)\b`)},
	{"drop", dropSaid},
	{"calls", callsSaid},
	{"export", regexp.MustCompile(`(?i)^(?:export|hand out)(?: (?:the |all |our |my )?(?:records?|data|everything))?$|\brecords request\b|\bpublic records\b`)},
	{"best", bestSaid},
	{"without", withoutSaid},
	{"tally", tallySaid},
	{"cut", cutSaid},
	{"rise", riseSaid},
	{"kit", kitCostSaid},
	{"dearest", dearestSaid},
	{"much", muchSaid},
	{"lost", lostSaid},
	{"why", whySaid},
}

func budgetCommand(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Result{}, bot.SayBudgetWhose.With()
	}
	if r.Department.Budget.YearStarts.Month == 0 {
		return Result{}, bot.SayNoBudget.With()
	}
	what, ref := press(r.Ref)
	r.Memory.Hearing = true
	switch {
	case what == "forms", what == "" && otherQuestion.MatchString(r.Event.Text):
		return Answer(hearingForms()), nil
	case r.Verb == "" || what == "" || what == "draft":
		return r.budgetNow(ctx)
	case what == "step":
		return r.stepRequest(ctx)
	case what == "hand-in":
		return r.handIn(ctx)
	case what == "sign":
		return r.signRequest(ctx, ref)
	case what == "opening":
		return r.lastRequest(ctx)
	case what == "add":
		return r.addAsk(ctx)
	case what == "drop":
		return r.dropAsk(ctx)
	case what == "export":
		return Say("On the machine that runs kitbell: kitbell export -c DIR --from 2027-01-01 --to 2027-06-30 --out FOLDER. It names nobody, and says what it leaves out. The request as a workbook, PDF and CSV: kitbell budget -c DIR --out FOLDER."), nil
	case what == "calls":
		return r.countCalls()
	case what == "lost":
		return r.lostIn(ctx)
	case what == "tally":
		return r.useAndLoss(ctx, ref)
	case what == "use":
		return r.showUse(ctx, ref)
	}
	request, frozen, err := r.requestHeard(ctx)
	if err != nil {
		return Result{}, err
	}
	result, err := r.answerHearing(ctx, request, what, ref)
	if err == nil && frozen != "" && len(result.Posts) > 0 {
		reply := &result.Posts[0].Reply
		reply.Fields = append(reply.Fields, bot.Field{Name: "Of", Value: fmt.Sprintf("request %s, as it was handed in. For what a draft would say now, add the word draft.", frozen)})
	}
	return result, err
}

var (
	draftSaid = regexp.MustCompile(`(?i)\bdraft\b`)
	ofRequest = regexp.MustCompile(`(?i),? (?:(?:in|of|for|from) )?(?:the )?(?:request(?: (\d{4}-\d{1,3}))?|draft)\b`)
)

// requestHeard is the request that a question is about: the one that is named, or the
// last one that was handed in for the coming year, unless it says draft; else the
// draft. frozen is its number, "" for the draft.
func (r *Request) requestHeard(ctx context.Context) (request budget.Request, frozen string, err error) {
	past, err := r.submitted(ctx)
	if err != nil {
		return budget.Request{}, "", err
	}
	if number := requestNumber.FindString(r.Event.Text); number != "" && r.Verb == string(understand.Budget) {
		if s, ok := budget.Find(past, number); ok {
			return s.Request, s.Number, nil
		}
		return budget.Request{}, "", bot.SayBudgetNoRequest.With(number)
	}
	if n := len(past); n > 0 && past[n-1].Request.Year == r.calendar().Year(r.Now)+1 && !draftSaid.MatchString(r.Event.Text) {
		return past[n-1].Request, past[n-1].Number, nil
	}
	request, err = r.draftRequest(ctx)
	return request, "", err
}

// asked is the question without the words that say of which request.
func (r *Request) asked() string {
	return strings.Trim(ofRequest.ReplaceAllString(strings.Trim(r.Event.Text, " ?.!"), ""), " ,?.!")
}

// answerHearing answers a question about a request.
func (r *Request) answerHearing(ctx context.Context, request budget.Request, what, ref string) (Result, error) {
	switch what {
	case "lines":
		return Answer(r.requestLines(request, ref)), nil
	case "line":
		return r.requestLine(request, ref)
	case "problems":
		return Answer(r.requestProblems(request)), nil
	case "best":
		return r.bestUnder(ctx, request)
	case "without":
		return r.requestWithout(request)
	case "why":
		return r.whySo(request)
	case "cut":
		return r.requestWithoutKind(request)
	case "rise":
		return r.requestAtPrices(request)
	case "kit":
		return Answer(r.kitCost()), nil
	case "dearest":
		return Answer(r.dearestLines(request)), nil
	case "much":
		return r.muchFor(request)
	}
	return Result{}, bot.SayOldButton.With()
}

// otherQuestion asks something of the money that no form above answers. The draft as
// a whole would only look like an answer.
var otherQuestion = regexp.MustCompile(`(?i)^\W*(?:what (?:if|does|did|do|happens|can|would|about)|how (?:much|many)|which|why|who|when|can we|could we|should we|is it|are we)\b`)

// moneyAsked is in a question of the money.
var moneyAsked = regexp.MustCompile(`(?i)\b(?:fund(?:ed|ing)?|budget|request|costs?|prices?|money|dollars?|spend|pay|afford|cheap(?:er)?|expensive|years?)\b|\$ ?\d`)

// hearingForms are what can be asked.
func hearingForms() bot.Reply {
	return bot.Reply{Text: "I cannot answer that from the request. I can answer these:", Steps: []string{
		"budget: the request as it stands. budget lines: its lines.",
		"why 11 at $118, or: why the air wedge.",
		"how much for the films. what does one kit cost. the dearest lines.",
		"what if we leave station 7 out. what if we cut the spares. what if prices rise 5 %.",
		"what did we lose last year. use and loss E4.",
		"best set under $2000.",
		"last year's request.",
	}}
}

func budgetButton(label, what string) bot.Button {
	return bot.Button{Label: label, Value: string(understand.Budget) + ":" + what}
}

// budgetNow shows the draft, a short table and a picture; or once the coming year's
// request is handed in, that one, and what a draft would say beside it.
func (r *Request) budgetNow(ctx context.Context) (Result, error) {
	request, err := r.draftRequest(ctx)
	if err != nil {
		return Result{}, err
	}
	past, err := r.submitted(ctx)
	if err != nil {
		return Result{}, err
	}
	if n := len(past); n > 0 && past[n-1].Request.Year == request.Year && r.Ref != "draft" && !draftSaid.MatchString(r.Event.Text) {
		return r.handedIn(past[n-1], request), nil
	}
	reply := bot.Reply{
		Title: fmt.Sprintf("Request for fiscal year %d, from %s: a draft", request.Year, r.dayAndYear(r.calendar().Start(request.Year))),
		Text:  r.totalWords(request.OfYear(request.Year)) + " Nothing is ordered by this. Prices and rates are the department's file's; spares and use are forecasts.",
	}
	for _, kind := range budget.LineKinds() {
		total, lines := kindTotal(request, kind)
		if lines > 0 {
			reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(string(kind)), Value: fmt.Sprintf("%s, %s", plural(lines, "line"), r.money(total))})
		}
	}
	var later []string
	for year := request.Year + 1; year < request.Year+request.Years; year++ {
		total := request.OfYear(year)
		words := fmt.Sprintf("%d %s", year, r.money(total.Total))
		if total.Excluded > 0 {
			words += fmt.Sprintf(" and %s in no total", plural(total.Excluded, "line"))
		}
		later = append(later, words)
	}
	if len(later) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "The years after", Value: strings.Join(later, ", ") + fmt.Sprintf(", with prices up %s a year", request.Terms.Escalation)})
	}
	if n := len(request.Problems); n > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "To be looked at", Value: fmt.Sprintf("%s, the first: %s", plural(n, "point"), request.Problems[0].Say)})
		reply.Buttons = append(reply.Buttons, budgetButton("What is to be looked at", "problems"))
	}
	reply.Buttons = append([]bot.Button{budgetButton("Lines", "lines")}, reply.Buttons...)
	reply.Buttons = append(reply.Buttons, budgetButton("Last year's request", "opening"))
	if n := len(past); n > 0 {
		last := past[n-1]
		reply.Fields = append(reply.Fields, bot.Field{Name: "Before", Value: last.Opening(last.Request.Year).Words() + r.notBought(last)})
	}
	picture, err := r.spendPicture(ctx, request)
	if err != nil {
		return Result{}, err
	}
	reply.Pictures = picture
	return Answer(reply), nil
}

// handedIn shows the request that is with the committee.
func (r *Request) handedIn(s budget.Submitted, draft budget.Request) Result {
	reply := bot.Reply{
		Title:   fmt.Sprintf("Request %s for fiscal year %d, handed in on %s", s.Number, s.Request.Year, r.dayAndYear(s.At)),
		Text:    s.Opening(s.Request.Year).Words() + r.notBought(s),
		Fields:  []bot.Field{{Name: "What a draft would say now", Value: r.changeOfTotal(s.Request, draft) + " It changes nothing in what was handed in."}},
		Buttons: []bot.Button{budgetButton("Its lines", "lines"), budgetButton("What became of it", "opening"), budgetButton("The draft now", "draft")},
	}
	return Answer(reply)
}

// notBought says what of a request was granted and is not bought yet.
func (r *Request) notBought(s budget.Submitted) string {
	lines := 0
	for _, l := range s.Lines {
		if l.Decided != "" && l.Decided != budget.Cut && l.Bought < l.GrantedPieces {
			lines++
		}
	}
	if lines == 0 {
		return ""
	}
	return fmt.Sprintf(" %s granted and not bought yet: take that into account.", plural(lines, "line"))
}

// kindTotal is what the first year's lines of a kind come to.
func kindTotal(request budget.Request, kind budget.LineKind) (cents int64, lines int) {
	for _, l := range request.Lines {
		if l.Kind == kind && l.Year == request.Year {
			cents += l.Sums.Total
			lines++
		}
	}
	return cents, lines
}

func (r *Request) totalWords(t budget.Total) string {
	words := fmt.Sprintf("%s in all: goods %s, shipping %s, tax %s. %s.", r.money(t.Total), r.money(t.Goods), r.money(t.Shipping), r.money(t.Tax), plural(t.Lines, "line"))
	if t.Excluded > 0 {
		words += fmt.Sprintf(" %s in no total.", plural(t.Excluded, "more line"))
	}
	return words
}

var linesSaid = regexp.MustCompile(`(?i)^(?:show |list |the |all )*(?:budget|request) lines?(?: (?:of |for |by )*([a-z ]+))?$`)

// mostAsked is how many lines one reply shows on a phone.
const mostAsked = 14

// requestLines lists the first year's lines with their sums: all, or where they are
// many those of a kind, which a tap or a word names.
func (r *Request) requestLines(request budget.Request, kind string) bot.Reply {
	if said := linesSaid.FindStringSubmatch(r.asked()); said != nil && kind == "" {
		kind = said[1]
	}
	reply := bot.Reply{
		Title: fmt.Sprintf("Lines of the request for %d", request.Year),
		Text:  r.totalWords(request.OfYear(request.Year)) + " Sums of lines are with shipping and tax.",
	}
	of := lineKindsSaid(kind)
	shown, many := r.linesOf(request, of), len(r.linesOf(request, budget.LineKinds())) > mostAsked
	for _, k := range budget.LineKinds() {
		if total, lines := kindTotal(request, k); lines > 0 && many && len(of) != 1 {
			reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(string(k)), Value: fmt.Sprintf("%s, %s", plural(lines, "line"), r.money(total))})
			reply.Buttons = append(reply.Buttons, budgetButton(upperFirst(string(k)), "lines:"+string(k)))
		}
	}
	if len(of) == 1 || !many {
		reply.Steps = shown
	}
	if len(reply.Steps)+len(reply.Fields) == 0 {
		reply.Text = "Nothing is asked for yet: no record, no wish and no list says so."
	}
	return reply
}

// lineKindsSaid is the one kind of lines that words name, or all.
func lineKindsSaid(words string) []budget.LineKind {
	for _, k := range budget.LineKinds() {
		for _, word := range subjectWords(words) {
			if word != "replacement" && word != "line" && speaksOf(string(k), []string{word}) {
				return []budget.LineKind{k}
			}
		}
	}
	return budget.LineKinds()
}

func (r *Request) linesOf(request budget.Request, kinds []budget.LineKind) []string {
	var lines []string
	for i, l := range request.Lines {
		if l.Year == request.Year && slices.Contains(kinds, l.Kind) {
			lines = append(lines, fmt.Sprintf("Line %d. %s", i+1, r.lineSums(l)))
		}
	}
	return lines
}

// lineSums is a line in one sentence of figures.
func (r *Request) lineSums(l budget.Line) string {
	words := fmt.Sprintf("%s (%s): %d × %s", l.Title, l.Kind, l.Quantity, r.money(l.Each))
	if l.Excluded != "" {
		return fmt.Sprintf("%s (%s): %d. In no total: %s", l.Title, l.Kind, l.Quantity, l.Excluded)
	}
	return words + " = " + r.money(l.Sums.Goods) + ", in all " + r.money(l.Sums.Total) + "."
}

// requestLine shows one line with why it is what it is.
func (r *Request) requestLine(request budget.Request, ref string) (Result, error) {
	if said := lineNumberSaid.FindString(r.Event.Text); ref == "" {
		ref = said
	}
	n := smallNumber(ref)
	if n < 1 || n > len(request.Lines) {
		return Result{}, bot.SayBudgetWhichLine.With(fmt.Sprint(request.Year))
	}
	return r.explained(request, request.Lines[n-1], n)
}

var lineNumberSaid = regexp.MustCompile(`\d{1,3}$`)

// mostRecords is how many records behind a line one reply shows.
const mostRecords = 12

func (r *Request) explained(request budget.Request, l budget.Line, n int) (Result, error) {
	why, err := request.Why(l.Key)
	if err != nil {
		return Result{}, fmt.Errorf("explain line %s: %w", l.Key, err)
	}
	reply := bot.Reply{Title: fmt.Sprintf("Line %d: %s", n, l.Title), Text: l.Why, Steps: why.Steps}
	if l.Excluded != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "In no total", Value: l.Excluded})
	}
	if why.Forecast != nil {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Forecast", Value: why.Forecast.Words()})
	}
	if l.Worth != nil {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Model, an average entry call", Value: r.savingWords(*l.Worth, request.Sample)})
	}
	var records []string
	for i, record := range why.Records {
		if i == mostRecords {
			records = append(records, fmt.Sprintf("and %d more", len(why.Records)-i))
			break
		}
		records = append(records, r.recordWords(record))
	}
	if len(records) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Records", Value: strings.Join(records, "; ")})
	}
	for _, line := range linesOfRecords(why.Records, mostSessions) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d", line), Value: fmt.Sprintf("%s:see:%d", understand.Queue, line)})
	}
	return Answer(reply), nil
}

// savingWords is the model's column of a line, with its range and its sample.
func (r *Request) savingWords(w budget.Worth, sample *budget.Sample) string {
	words := fmt.Sprintf("saves %.1f minutes (%.1f to %.1f) and %.2f lasting marks (%.2f to %.2f). By the door model, on assumptions.",
		w.Minutes.Mean, w.Minutes.Low, w.Minutes.High, w.Marks.Mean, w.Marks.Low, w.Marks.High)
	if w.Minutes.Mean <= -0.05 {
		words += " Below zero, it takes longer and leaves less mark than what stands in for it."
	}
	if sample != nil {
		words += " " + sample.Words()
	}
	return words
}

// recordWords is a record in a line, with where it stands.
func (r *Request) recordWords(record budget.Record) string {
	words := fmt.Sprintf("%s %s: %s", r.dayAndYear(record.Date), r.unitName(record.Unit), record.Kind)
	if record.Count != 1 {
		words += fmt.Sprintf(" %d", record.Count)
	}
	if record.Cents > 0 {
		words += " " + r.money(record.Cents)
	}
	switch {
	case record.Line > 0:
		words += fmt.Sprintf(" (#%d)", record.Line)
	case record.Entry != "":
		words += " (" + record.Entry + ")"
	}
	return words
}

// mostProblems is how many points one reply shows.
const mostProblems = 15

func (r *Request) requestProblems(request budget.Request) bot.Reply {
	reply := bot.Reply{Title: "To be looked at in the request"}
	points := groupBy(request.Problems, func(p budget.Problem) string { return p.Say })
	for i, same := range points {
		if i == mostProblems {
			reply.Text = fmt.Sprintf("The first %d of %d.", mostProblems, len(points))
			break
		}
		say := same[0].Say
		if len(same) > 1 {
			say += fmt.Sprintf(" (%d lines)", len(same))
		}
		reply.Steps = append(reply.Steps, say)
	}
	if len(reply.Steps) == 0 {
		reply.Text = "Nothing: every line has a price and a count."
	}
	return reply
}

// money is an amount as crews read it.
func money(cents int64, currency string) string { return budget.Money(cents, currency) }

// fiscalYearSaid is the fiscal year that words name: last year, this year, or its
// number.
func (r *Request) fiscalYearSaid(words string) int {
	now := r.calendar().Year(r.Now)
	switch {
	case strings.Contains(words, "this year"), strings.Contains(words, "so far"):
		return now
	case yearSaid.MatchString(words):
		return smallNumber(yearSaid.FindString(words))
	}
	return now - 1
}

// YearlyRequest is the request as it would be handed in now. The error is the
// store's, or for terms that no request can be made with.
func YearlyRequest(ctx context.Context, d *Desk, books Books, now time.Time) (budget.Request, error) {
	return (&Request{Desk: d, Books: books, Now: now}).draftRequest(ctx)
}

// Requests are those that were handed in, with what became of them, oldest first.
func Requests(ctx context.Context, d *Desk, books Books) ([]budget.Submitted, error) {
	return (&Request{Desk: d, Books: books}).submitted(ctx)
}

// Presentation is how a department's request is shown on paper and in workbooks:
// with the names that crews use.
func Presentation(d *Desk, paper string, made time.Time) budget.Presentation {
	r := &Request{Desk: d, Now: made}
	return budget.Presentation{Department: d.Department.Name, Paper: paper, Made: made, Zone: d.Department.Zone, Item: d.itemName, Unit: r.unitName, Member: r.memberName}
}
