package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// SessionCommand books training sessions: who taught what, who took part, and what
// an officer confirmed. Hours come from nothing else.
func SessionCommand() Command {
	return Command{
		Name:    sessionVerb,
		Usage:   "session: slip an inward door; standard 5.3.4; today 14:00-15:30; at Station 4; hands-on",
		For:     department.Officer,
		Summary: "Book a training session. Members tap that they were there, an officer confirms, and then it counts as hours.",
		Run:     session,
	}
}

const (
	sessionVerb = "session"
	sessionKind = "session"
)

// sessionWords gives the button that a sentence about sessions stands for.
func sessionWords(words string) (press string, ok bool) {
	switch {
	case sessionSaid.MatchString(words):
		return sessionVerb + ":say", true
	case oneSaid.MatchString(words):
		return sessionVerb + ":one", true
	case sessionsAsked.MatchString(words):
		return sessionVerb + ":list", true
	case hoursAsked.MatchString(words):
		return sessionVerb + ":hours", true
	case correctSaid.MatchString(words):
		return sessionVerb + ":correct", true
	case usedInSession.MatchString(words):
		return sessionVerb + ":used", true
	case thereSaid.MatchString(words):
		return sessionVerb + ":enter", true
	case makeUpAsked.MatchString(words):
		return sessionVerb + ":make-up", true
	}
	return "", false
}

var (
	sessionSaid   = regexp.MustCompile(`(?i)^(?:training )?session ?[:,;-]`)
	sessionsAsked = regexp.MustCompile(`^(?:list |show |our |the |last )*(?:training )?sessions?$`)
	hoursAsked    = regexp.MustCompile(`^(?:my |our |show |the )*(?:training )?hours(?: this year)?$`)
	correctSaid   = regexp.MustCompile(`(?i)^correct (?:the )?(?:training )?session(?: ?#?(\d{1,6}))? ?[:,;-] ?(.+?)[;,]? because (.+)$`)
	usedInSession = regexp.MustCompile(`(?i)^session(?: ?#?(\d{1,6}))?[:,]? used ?[:,;-]? ?(.+)$`)
	thereSaid     = regexp.MustCompile(`(?i)^(?:session ?#?(\d{1,6})[:,;]? )?(not )?there ?: ?(.+?)(?: because (.+))?$`)
	oneSaid       = regexp.MustCompile(`(?i)^(?:(confirm) )?(?:the )?(?:training )?session(?: ?#?(\d{1,6}))?$`)
	makeUpAsked   = regexp.MustCompile(`^(?:the )?make-?up(?: list)?\b`)
)

func session(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	sessions, err := r.sessions(ctx)
	if err != nil {
		return Result{}, err
	}
	what, key, _ := strings.Cut(r.Ref, ":")
	switch what {
	case "say":
		return r.holdSession(sessions)
	case "list":
		return Answer(r.sessionList(sessions)), nil
	case "one":
		return r.oneSession(sessions)
	case "hours":
		return r.hours(sessions)
	case "make-up":
		return r.makeUp(sessions)
	case "there":
		return r.wasThere(sessions, key)
	case "correct":
		return r.correctSession(sessions)
	case "used":
		return r.usedInTraining(sessions)
	case "enter":
		return r.enterOthers(sessions)
	case "confirm":
		return r.confirmSession(sessions, key)
	case "see":
		if i := findSession(sessions, key); i >= 0 {
			return Answer(r.sessionReply(sessions[i])), nil
		}
	}
	return Result{}, bot.SayOldButton.With()
}

func findSession(sessions []training.Session, key string) int {
	return slices.IndexFunc(sessions, func(s training.Session) bool { return s.Key == key })
}

// sessions are all sessions that were ever entered.
func (r *Request) sessions(ctx context.Context) ([]training.Session, error) {
	return fold(ctx, r, sessionKind, func(entries []bot.Entry) ([]training.Session, error) {
		return sessionsOf(entries)
	})
}

func sessionsOf(entries []bot.Entry) ([]training.Session, error) {
	steps := make([]training.SessionStep, len(entries))
	for i, e := range entries {
		step, err := decode[training.SessionStep](e)
		if err != nil {
			return nil, err
		}
		steps[i] = step
	}
	return training.Sessions(steps), nil
}

// enter writes a step of a session, or says why it cannot be.
func (r *Request) enter(sessions []training.Session, step training.SessionStep) (bot.Change, error) {
	step.By, step.At = r.Who.Person, r.Now
	if err := training.CheckSession(sessions, step); err != nil {
		return nil, bot.SayNotTrained.With(err)
	}
	return bot.Written{Entry: bot.NewEntry(sessionKind, step.Key, r.Who.Person, r.Now, step)}, nil
}

// holdSession books a session in one line, its parts between semicolons.
func (r *Request) holdSession(sessions []training.Session) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	said := strings.TrimSpace(r.Event.Text)
	details, err := r.sessionDetails(said[len(sessionSaid.FindString(said)):])
	if err != nil {
		return Result{}, err
	}
	number := training.NextSession(sessions)
	step := training.SessionStep{Key: fmt.Sprintf("%s-%d", strconv.FormatInt(r.Now.Unix(), 36), number), Number: number, What: training.SessionHeld, Details: details}
	change, err := r.enter(sessions, step)
	if err != nil {
		return Result{}, err
	}
	reply := r.sessionReply(training.Session{Key: step.Key, Number: number, First: step})
	reply.Buttons = append(reply.Buttons, r.undoButton())
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{change}}, nil
}

var (
	sessionTimes = regexp.MustCompile(`(?i)^(.*?)\s*(\d{1,2}:?\d{2})\s*(?:-|–|to|until)\s*(\d{1,2}:?\d{2})$`)
	sessionPart  = regexp.MustCompile(`(?i)^(standard|place|at|instructor|by|method|course)\b[ :]*(.+)$`)
)

// sessionDetails reads what is between the semicolons: the subject first, then in
// any order the standard, the place, the instructor, the method, and the day with
// its times.
func (r *Request) sessionDetails(said string) (training.Details, error) {
	d := training.Details{Instructor: r.Who.Person, Method: training.HandsOnMethod}
	for i, part := range strings.Split(said, ";") {
		part = strings.Trim(part, " .")
		named := sessionPart.FindStringSubmatch(part)
		method := training.Method(strings.ToLower(part))
		switch times := sessionTimes.FindStringSubmatch(part); {
		case part == "":
		case i == 0:
			d.Subject, d.Course = part, strings.ToLower(part)
		case times != nil:
			var err error
			if d.Start, d.End, err = r.sessionHours(times); err != nil {
				return d, err
			}
		case named != nil:
			if err := r.namedPart(&d, strings.ToLower(named[1]), named[2]); err != nil {
				return d, err
			}
		case slices.Contains(training.Methods(), method):
			d.Method = method
		default:
			return d, bot.SaySessionPart.With(part)
		}
	}
	return d, nil
}

func (r *Request) namedPart(d *training.Details, name, value string) error {
	switch name {
	case "standard":
		d.Standard = value
	case "place", "at":
		d.Place = value
	case "course":
		d.Course = strings.ToLower(value)
	case "method":
		d.Method = training.Method(strings.ToLower(value))
	default:
		d.Instructor = value
		if m, err := r.memberByName(value); err == nil {
			d.Instructor = m.ID
		}
	}
	return nil
}

func (r *Request) sessionHours(said []string) (start, end time.Time, err error) {
	day, ok := dayOf(strings.TrimSpace(said[1]), r.Now.In(r.Department.Zone))
	if said[1] == "" {
		day, ok = dayOf("today", r.Now.In(r.Department.Zone))
	}
	from, fromErr := clockTime(said[2])
	to, toErr := clockTime(said[3])
	if !ok || fromErr != nil || toErr != nil {
		return start, end, bot.SaySessionPart.With(said[0])
	}
	at := func(t time.Time) time.Time {
		return time.Date(day.Year(), day.Month(), day.Day(), t.Hour(), t.Minute(), 0, 0, r.Department.Zone)
	}
	return at(from), at(to), nil
}

func clockTime(said string) (time.Time, error) {
	if !strings.Contains(said, ":") {
		said = said[:len(said)-2] + ":" + said[len(said)-2:]
	}
	return time.Parse("15:04", said)
}

// sessionReply shows a session with what there is to tap.
func (r *Request) sessionReply(s training.Session) bot.Reply {
	d := s.Details()
	reply := bot.Reply{
		Title: fmt.Sprintf("Session %d: %s", s.Number, d.Subject),
		Text: fmt.Sprintf("%s to %s, %s, %s, taught by %s. Standard: %s.", d.Start.In(r.Department.Zone).Format("Mon 2 Jan 2006 15:04"),
			d.End.In(r.Department.Zone).Format("15:04"), d.Place, d.Method, r.memberName(d.Instructor), d.Standard),
		Buttons: []bot.Button{{Label: "I was there", Value: sessionVerb + ":there:" + s.Key}, {Label: "Confirm (officer)", Value: sessionVerb + ":confirm:" + s.Key}},
	}
	there := s.There()
	value := plural(len(there), "member")
	if s.Waits() {
		value += "; not confirmed, so no hours yet"
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Took part", Value: value})
	return reply
}

// memberName is a member's name, or a guest's as it was said.
func (r *Request) memberName(id string) string {
	if m, ok := r.Department.Member(id); ok {
		return m.Name
	}
	return id
}

// mostSessions is how many sessions a list shows.
const mostSessions = 8

func (r *Request) sessionList(sessions []training.Session) bot.Reply {
	reply := bot.Reply{Title: "Sessions"}
	for _, s := range slices.Backward(sessions) {
		if len(reply.Fields) == mostSessions {
			break
		}
		d := s.Details()
		state := "confirmed"
		if s.Waits() {
			state = "waits for an officer"
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: d.Start.In(r.Department.Zone).Format("2 Jan 2006"), Value: fmt.Sprintf("session %d, %s, %s, %s", s.Number, d.Subject, plural(len(s.There()), "member"), state)})
		reply.Buttons = append(reply.Buttons, bot.Button{Label: bot.Shorten(fmt.Sprintf("%d %s", s.Number, d.Subject), 30), Value: sessionVerb + ":see:" + s.Key})
	}
	if len(reply.Fields) == 0 {
		reply.Text = "No session is booked. An officer books one in a line: " + SessionCommand().Usage + "."
	}
	return reply
}

// wasThere is a member's own tap. One by somebody who is off duty is kept and earns
// nothing: an officer can enter them.
func (r *Request) wasThere(sessions []training.Session, key string) (Result, error) {
	if r.Who.Unit == "" || r.Who.Platoon == "" {
		return Result{}, bot.SayWhichCrew.With()
	}
	off := r.Department.Rotation.TourAt(r.Now).Platoon != r.Who.Platoon
	change, err := r.enter(sessions, training.SessionStep{Key: key, What: training.SessionAttended, Member: r.Who.Person, Crew: r.crewOf(), OffDuty: off})
	if err != nil {
		return Result{}, err
	}
	text := "Noted: you were there. It counts once an officer has confirmed the session."
	if off {
		text = "Noted, and you are off duty now: your own tap earns no hours. An officer can enter you."
	}
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

// oneSession shows the session that a sentence names, or confirms it.
func (r *Request) oneSession(sessions []training.Session) (Result, error) {
	said := oneSaid.FindStringSubmatch(strings.TrimSuffix(strings.TrimSpace(r.Event.Text), "."))
	if said == nil || said[1] == "" && said[2] == "" {
		return Answer(r.sessionList(sessions)), nil
	}
	s, err := sessionNumbered(sessions, said[2])
	switch {
	case err != nil:
		return Result{}, err
	case said[1] != "":
		return r.confirmSession(sessions, s.Key)
	}
	return Answer(r.sessionReply(s)), nil
}

// sessionNumbered is the session that goes by a number; without one, that which was
// booked last.
func sessionNumbered(sessions []training.Session, number string) (training.Session, error) {
	if number == "" && len(sessions) > 0 {
		return sessions[len(sessions)-1], nil
	}
	n, _ := strconv.Atoi(number) // digits, by the pattern; zero is nobody's
	if i := slices.IndexFunc(sessions, func(s training.Session) bool { return s.Number == n }); i >= 0 {
		return sessions[i], nil
	}
	return training.Session{}, bot.SayNotTrained.With(training.ErrNoSession)
}

// enterOthers is an officer's entry of who was there, or was not after all:
// "session 3 there: NAME, NAME passed". Without a number it is about the session
// that was booked last.
func (r *Request) enterOthers(sessions []training.Session) (Result, error) {
	said := thereSaid.FindStringSubmatch(strings.TrimSuffix(strings.TrimSpace(r.Event.Text), "."))
	switch {
	case !r.Who.May(department.Officer):
		return Result{}, bot.SayOfficerOnly.With()
	case said == nil || len(sessions) == 0:
		return Answer(r.sessionList(sessions)), nil
	}
	last, err := sessionNumbered(sessions, said[1])
	if err != nil {
		return Result{}, err
	}
	var out Result
	var names []string
	for _, name := range strings.Split(said[3], ",") {
		step := training.SessionStep{Key: last.Key, What: training.SessionAttended, Reason: said[4]}
		if said[2] != "" {
			step.What = training.SessionStruck
		}
		name = strings.TrimSpace(name)
		for _, outcome := range []training.Outcome{training.Passed, training.NeedsMore} {
			if rest, ok := strings.CutSuffix(strings.ToLower(name), " "+string(outcome)); ok {
				name, step.Outcome = name[:len(rest)], outcome
			}
		}
		m, err := r.memberByName(name)
		if err != nil {
			return Result{}, err
		}
		step.Member, step.Crew = m.ID, training.Crew{Unit: m.Unit, Platoon: m.Platoon}
		change, err := r.enter(sessions, step)
		if err != nil {
			return Result{}, err
		}
		out.Changes, names = append(out.Changes, change), append(names, m.Name)
	}
	words := "there"
	if said[2] != "" {
		words = "not there"
	}
	text := fmt.Sprintf("%s, %s: %s. It counts once an officer confirms the session.", sessionName(last), words, list(names, "and"))
	out.Posts = []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{{Label: "Confirm (officer)", Value: sessionVerb + ":confirm:" + last.Key}, r.undoButton()}}}}
	return out, nil
}

// sessionName is how an answer calls a session, so that nobody takes it for another.
func sessionName(s training.Session) string {
	return fmt.Sprintf("Session %d, %s", s.Number, s.Details().Subject)
}

// officersSession is the session that an officer's word is about.
func (r *Request) officersSession(sessions []training.Session, number string) (training.Session, error) {
	if !r.Who.May(department.Officer) {
		return training.Session{}, bot.SayOfficerOnly.With()
	}
	return sessionNumbered(sessions, number)
}

// correctSession enters new details beside the first ones, with the reason.
func (r *Request) correctSession(sessions []training.Session) (Result, error) {
	said := correctSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, err := r.officersSession(sessions, said[1])
	if err != nil {
		return Result{}, err
	}
	details, err := r.sessionDetails(said[2])
	if err != nil {
		return Result{}, err
	}
	change, err := r.enter(sessions, training.SessionStep{Key: about.Key, What: training.SessionCorrected, Details: details, Reason: said[3]})
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Session %d corrected: %s. The first entry stays beside it. It counts once an officer confirms it.", about.Number, details.Subject)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{{Label: "Confirm (officer)", Value: sessionVerb + ":confirm:" + about.Key}, r.undoButton()}}}},
		Changes: []bot.Change{change},
	}, nil
}

// usedInTraining books what a session used up, apart from what calls use.
func (r *Request) usedInTraining(sessions []training.Session) (Result, error) {
	said := usedInSession.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, err := r.officersSession(sessions, said[1])
	if err != nil {
		return Result{}, err
	}
	used := make(map[string]int)
	var words []string
	for _, line := range r.Read(said[2]+" missing", understand.Context{Unit: r.Who.Unit}).Lines {
		used[line.Item] += line.Count
		words = append(words, fmt.Sprintf("%d × %s", line.Count, r.itemName(line.Item)))
	}
	change, err := r.enter(sessions, training.SessionStep{Key: about.Key, What: training.SessionUsed, Used: used})
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Used up in training, session %d, %s: %s. It counts apart from calls.", about.Number, about.Details().Subject, list(words, "and"))
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

func (r *Request) confirmSession(sessions []training.Session, key string) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	change, err := r.enter(sessions, training.SessionStep{Key: key, What: training.SessionConfirmed})
	if err != nil {
		return Result{}, err
	}
	s := sessions[findSession(sessions, key)]
	d := s.Details()
	text := fmt.Sprintf("Session %d confirmed by %s: %s, %s, %s, %.2f hours each.", s.Number, r.Who.Member.Name, d.Subject, r.dayOnly(d.Start), plural(len(s.There()), "member"), d.Length().Hours())
	return Result{Posts: []Post{{OnPressed: true, Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

// hours tells a member their own; an officer, those of the rigs as well.
func (r *Request) hours(sessions []training.Session) (Result, error) {
	year := r.Now.In(r.Department.Zone).Year()
	tally, err := training.TallyHours(training.Records(sessions), r.roster(), year, r.Department.Zone, r.Department.HoursTarget)
	if err != nil {
		return Result{}, fmt.Errorf("tally hours: %w", err)
	}
	reply := bot.Reply{Title: fmt.Sprintf("Training hours %d, confirmed sessions only", year), Private: true}
	for _, p := range tally.People {
		if p.Member != r.Who.Person {
			continue
		}
		mine := fmt.Sprintf("%.2f", p.Hours.Hours())
		if tally.Target > 0 {
			mine += fmt.Sprintf(" of %.0f, %.2f to go", tally.Target.Hours(), p.Missing.Hours())
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: "You", Value: mine})
	}
	if r.Who.May(department.Officer) {
		for _, u := range tally.Units {
			reply.Fields = append(reply.Fields, bot.Field{Name: r.unitName(u.Unit), Value: fmt.Sprintf("%.2f hours of members", u.Hours.Hours())})
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: "Department", Value: fmt.Sprintf("%.2f hours of members", tally.Total().Hours())})
	}
	return Answer(reply), nil
}

// makeUp says how far each course has come over the platoons, and names to
// officers alone who is still to have it.
func (r *Request) makeUp(sessions []training.Session) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	var courses []string
	for _, s := range slices.Backward(sessions) {
		if course := s.Details().Course; course != "" && !slices.Contains(courses, course) && len(courses) < mostSessions {
			courses = append(courses, course)
		}
	}
	reply := bot.Reply{Title: "Make-up list", Private: true}
	for _, course := range courses {
		c := training.MakeUp(sessions, course, r.roster())
		words := fmt.Sprintf("%d of %d", c.Done, c.Of)
		for _, p := range c.Platoons {
			words += fmt.Sprintf(", %s %d of %d", p.Platoon, p.Done, p.Of)
		}
		if c.Said > 0 {
			words += fmt.Sprintf("; %d wait for an officer's word", c.Said)
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(course), Value: words + "." + r.stillToGo(c)})
	}
	if len(courses) == 0 {
		reply.Text = "No session is booked, so nobody has to make one up."
	}
	return Answer(reply), nil
}
