package command

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
)

// SessionCommand books training sessions: who taught what, who took part, and what
// an officer confirmed. Hours come from nothing else.
func SessionCommand() Command {
	return Command{
		Name:    sessionVerb,
		Usage:   "session: slip an inward door; standard 5.3.4; today 14:00-15:30; at Station 4; hands-on",
		For:     department.Officer,
		Summary: "Book a training session. Members tap that they were there, an officer confirms, and then it counts as hours.",
		More:    sessionExamples(),
		Run:     session,
	}
}

func sessionExamples() []Example {
	return []Example{
		{"my hours", "See your training hours of this year. Add a year for an older one: my hours 2025."},
		{"sessions", "See the last sessions. session 3 shows one, with what to tap."},
		{"session 3 there: {member} passed", "Enter who was there, as an officer. not there: NAME because he was called away takes one out."},
		{"confirm session 3", "Vouch for a session, as an officer. You see first for whom."},
		{"correct session 3: 14:00-15:00 because it ended early", "Put a session right, as an officer. What you do not name stays, and the first entry too."},
		{"session 3 used 2 latch films", "Book what training used up."},
		{"cancel session 3 because it was booked twice", "Take a session out of all that counts. It stays to be seen."},
		{"make-up list", "See who is still to have each course, as an officer."},
	}
}

const (
	sessionVerb = "session"
	sessionKind = "session"
)

// sessionWords gives the button that a sentence about sessions stands for.
func sessionWords(words string) (press string, ok bool) {
	switch {
	case sessionColon.MatchString(words):
		return sessionVerb + ":say", true
	case oneSaid.MatchString(words):
		return sessionVerb + ":one", true
	case sessionsAsked.MatchString(words):
		return sessionVerb + ":list", true
	case hoursAsked.MatchString(words):
		return sessionVerb + ":hours", true
	case cancelSaid.MatchString(words):
		return sessionVerb + ":cancel", true
	case correctSaid.MatchString(words):
		return sessionVerb + ":correct", true
	case usedInSession.MatchString(words):
		return sessionVerb + ":used", true
	case thereSaid.MatchString(words):
		return sessionVerb + ":enter", true
	case makeUpAsked.MatchString(words):
		return sessionVerb + ":make-up", true
	case sessionLoose.MatchString(words): // it is meant as one, and would be read as something else
		return sessionVerb + ":say", true
	}
	return "", false
}

var (
	sessionLoose  = regexp.MustCompile(`(?i)^(?:book (?:a )?)?(?:training )?session (?:on |about |was |of )?[^\d\s:,;]\S* .*\d`)
	sessionColon  = regexp.MustCompile(`(?i)^(?:book (?:a )?)?(?:training )?session ?[:,;-]`)
	cancelSaid    = regexp.MustCompile(`(?i)^cancel (?:the )?(?:training )?session(?: ?#?(\d{1,6}))?(?:[ ,]+because (.+))?$`)
	sessionsAsked = regexp.MustCompile(`^(?:list |show |our |the |last )*(?:training )?sessions?$`)
	hoursAsked    = regexp.MustCompile(`^(?:my |our |show |the |how many |what )*(?:training )?hours(?: of training)?(?: (?:do|have) (?:i|we) (?:have|got|done))?(?: this year| (?:in |of |for )?20\d\d)?$`)
	yearSaid      = regexp.MustCompile(`\b20\d\d\b`)
	correctSaid   = regexp.MustCompile(`(?i)^correct (?:the )?(?:training )?session(?: ?#?(\d{1,6}))? ?[:,;-] ?(.+?)[;,]? because (.+)$`)
	usedInSession = regexp.MustCompile(`(?i)^session(?: ?#?(\d{1,6}))?[:,]? used ?[:,;-]? ?(.+)$`)
	thereSaid     = regexp.MustCompile(`(?i)^(?:session ?#?(\d{1,6})[:,;]? )?(not )?there(?:,? (?:at |in )?session ?#?(\d{1,6}))? ?: ?(.+?)(?: because (.+))?$`)
	oneSaid       = regexp.MustCompile(`(?i)^(?:(confirm) )?(?:the )?(?:training )?session(?: ?#?(\d{1,6}))?$`)
	makeUpAsked   = regexp.MustCompile(`^(?:the )?make ?-?up(?: list)?\b|^who (?:still )?(?:needs|has to (?:do|have)|missed) the .*\bsession\b`)
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
	case "cancel":
		return r.cancelSession(sessions)
	case "correct":
		return r.correctSession(sessions)
	case "used":
		return r.usedInTraining(sessions)
	case "enter":
		return r.enterOthers(sessions)
	case "confirm":
		return r.confirmSession(sessions, key)
	case "vouch":
		return r.vouch(sessions, key)
	case "see":
		if i := findSession(sessions, key); i >= 0 {
			return Answer(r.sessionSeen(sessions[i])), nil
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
		said := bot.SayNotTrained.With(err)
		said.Err = err
		return nil, said
	}
	return bot.Written{Entry: bot.NewEntry(sessionKind, step.Key, r.Who.Person, r.Now, step)}, nil
}

// holdSession books a session in one line, its parts between semicolons.
func (r *Request) holdSession(sessions []training.Session) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	said := strings.TrimSpace(r.Event.Text)
	line := sessionColon.FindString(said)
	if line == "" { // it is meant as one, and reads like many other things
		return Result{}, bot.SaySessionPart.With(said)
	}
	details, err := r.sessionDetails(said[len(line):], training.Details{Instructor: r.Who.Person, Method: training.HandsOnMethod})
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

// detailWords are a session's details in a line.
func (r *Request) detailWords(d training.Details) string {
	return fmt.Sprintf("%s, %s, %s, taught by %s. Standard: %s", r.timesOf(d), d.Place, d.Method, r.memberName(d.Instructor), d.Standard)
}

// sessionReply shows a session to everybody, with what there is to tap.
func (r *Request) sessionReply(s training.Session) bot.Reply {
	reply := bot.Reply{Title: fmt.Sprintf("Session %d: %s", s.Number, s.Details().Subject), Text: r.detailWords(s.Details()) + "."}
	if s.Cancelled != nil {
		reply.Text += fmt.Sprintf(" Cancelled by %s: %s.", r.memberName(s.Cancelled.By), s.Cancelled.Reason)
		return reply
	}
	reply.Buttons = []bot.Button{{Label: "I was there", Value: sessionVerb + ":there:" + s.Key}, confirmButton(s)}
	value := plural(len(s.There()), "member")
	switch {
	case s.Vouched == nil:
		value += "; not confirmed, so no hours yet"
	case s.Waits():
		value += "; confirmed, and what was entered since waits for an officer"
	default:
		value += "; confirmed"
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Took part", Value: value})
	return reply
}

// sessionSeen is a session as whoever asks may see it: names are for officers.
func (r *Request) sessionSeen(s training.Session) bot.Reply {
	if r.Who.May(department.Officer) {
		return r.sessionPage(s)
	}
	return r.sessionReply(s)
}

// sessionPage shows an officer everything that was entered about a session.
func (r *Request) sessionPage(s training.Session) bot.Reply {
	reply := r.sessionReply(s)
	reply.Private = true
	field := func(name string, words []string) {
		if len(words) > 0 {
			reply.Fields = append(reply.Fields, bot.Field{Name: name, Value: strings.Join(words, ", ")})
		}
	}
	names := func(steps []training.SessionStep) []string {
		var all []string
		for _, step := range steps {
			all = append(all, strings.TrimSpace(r.nameThen(step.Member, step.Name)+" "+string(step.Outcome)))
		}
		return all
	}
	field("Names", names(s.There()))
	field("Tapped off duty, without hours", names(s.Tapped()))
	var used, changed []string
	pieces := s.Used()
	for _, item := range slices.Sorted(maps.Keys(pieces)) {
		used = append(used, fmt.Sprintf("%d × %s", pieces[item], r.itemName(item)))
	}
	field("Used up", used)
	for _, step := range s.Later {
		if step.What == training.SessionCorrected || step.What == training.SessionStruck {
			words := string(step.What)
			if step.Member != "" {
				words += " " + r.nameThen(step.Member, step.Name)
			}
			changed = append(changed, words+": "+step.Reason)
		}
	}
	field("Changed since", changed)
	return reply
}

// unitOrder is a rig's place in the department's file.
func (r *Request) unitOrder(unit string) int {
	return slices.IndexFunc(r.Department.Units, func(u department.Unit) bool { return u.ID == unit })
}

// nameThen is a member's name, for one who has left as it was then.
func (r *Request) nameThen(id, then string) string {
	if m, ok := r.Department.Member(id); ok {
		return m.Name
	}
	return cmp.Or(then, id)
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
	for i, s := range slices.Backward(sessions) {
		if len(reply.Fields) == mostSessions {
			reply.Text = fmt.Sprintf("The last %d of %d. To see an older one, type: session and its number.", mostSessions, i+1+mostSessions)
			break
		}
		d := s.Details()
		state := "confirmed"
		switch {
		case s.Cancelled != nil:
			state = "cancelled"
		case s.Vouched == nil:
			state = "waits for an officer"
		case s.Waits():
			state = "confirmed, and what was entered since waits"
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: d.Start.In(r.Department.Zone).Format("2 Jan 2006"), Value: fmt.Sprintf("session %d, %s, %s, %s", s.Number, d.Subject, plural(len(s.There()), "member"), state)})
		reply.Buttons = append(reply.Buttons, bot.Button{Label: bot.Shorten(fmt.Sprintf("%d, %s, %s", s.Number, d.Start.In(r.Department.Zone).Format("2 Jan"), d.Subject), 30), Value: sessionVerb + ":see:" + s.Key})
	}
	if len(reply.Fields) == 0 {
		reply.Text = "No session is booked. An officer books one in a line: " + SessionCommand().Usage + "."
	}
	return reply
}

// oneSession shows the session that a sentence names, or lets an officer confirm it.
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
	return Answer(r.sessionSeen(s)), nil
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

// hours tells a member their own; an officer, those of the rigs as well.
func (r *Request) hours(sessions []training.Session) (Result, error) {
	year := r.Now.In(r.Department.Zone).Year()
	if said := yearSaid.FindString(r.Event.Text); said != "" {
		year, _ = strconv.Atoi(said) // digits, by the pattern
	}
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
			name := r.unitName(u.Unit)
			if u.Unit == "" {
				name = "Day staff"
			}
			reply.Fields = append(reply.Fields, bot.Field{Name: name, Value: fmt.Sprintf("%.2f hours of members", u.Hours.Hours())})
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
		if course := s.Details().Course; s.Cancelled == nil && course != "" && !slices.Contains(courses, course) && len(courses) < mostSessions {
			courses = append(courses, course)
		}
	}
	roster := r.roster()
	slices.SortStableFunc(roster, func(a, b training.Person) int {
		order := func(p training.Person) int { return slices.Index(r.Department.Rotation.Platoons(), p.Crew.Platoon) }
		return cmp.Or(order(a)-order(b), r.unitOrder(a.Crew.Unit)-r.unitOrder(b.Crew.Unit))
	})
	reply := bot.Reply{Title: "Make-up list", Private: true}
	for _, course := range courses {
		c := training.MakeUp(sessions, course, roster)
		words := fmt.Sprintf("%d of %d", c.Done, c.Of)
		for _, p := range c.Platoons {
			words += fmt.Sprintf(", %s %d of %d", p.Platoon, p.Done, p.Of)
		}
		if c.Said > 0 {
			words += fmt.Sprintf("; %d wait for an officer's word", c.Said)
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(course), Value: words + "." + r.stillToGo(c)})
	}
	if len(courses) == mostSessions {
		reply.Text = fmt.Sprintf("The last %d courses.", mostSessions)
	}
	if len(courses) == 0 {
		reply.Text = "No session is booked, so nobody has to make one up."
	}
	return Answer(reply), nil
}
