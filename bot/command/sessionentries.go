package command

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// wasThere is a member's own tap. One by somebody who was not on duty when the
// session was held is kept and earns nothing: an officer can enter them.
func (r *Request) wasThere(sessions []training.Session, key string) (Result, error) {
	at := findSession(sessions, key)
	if at < 0 {
		return Result{}, bot.SayNotTrained.With(training.ErrNoSession)
	}
	off := r.offDutyAt(r.Who.Member, r.Who.Platoon, sessions[at].Details())
	change, err := r.enter(sessions, training.SessionStep{
		Key: key, What: training.SessionAttended, Member: r.Who.Person, Name: r.Who.Member.Name, Crew: r.crewOf(), OffDuty: off,
	})
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Noted: you were there, %s. It counts once an officer has confirmed the session.", lowerFirst(sessionName(sessions[at])))
	if off {
		text = fmt.Sprintf("Noted, %s. You were not on duty then, so your own tap earns no hours. An officer can enter you.", lowerFirst(sessionName(sessions[at])))
	}
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

// offDutyAt says whether a member was not on duty at any time of a session, by the
// rotation and the file.
func (r *Request) offDutyAt(m department.Member, platoon string, d training.Details) bool {
	on := func(platoonOn string) bool { return platoon != "" && platoonOn == platoon }
	rotation := r.Department.Rotation
	return m.Status == department.OnLeave || !on(rotation.TourAt(d.Start).Platoon) && !on(rotation.TourAt(d.End.Add(-1)).Platoon)
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
	s, err := sessionNumbered(sessions, cmp.Or(said[1], said[3]))
	if err != nil {
		return Result{}, err
	}
	var out Result
	var names, off, same []string
	for name := range strings.SplitSeq(andBetween.ReplaceAllString(said[4], ","), ",") {
		step, m, err := r.attendance(s, name, said[2] != "", said[5])
		if err != nil {
			return Result{}, err
		}
		change, err := r.enter(sessions, step)
		if errors.Is(err, training.ErrSame) {
			same = append(same, m.Name)
			continue
		}
		if err != nil {
			return Result{}, err
		}
		if step.OffDuty {
			off = append(off, m.Name)
		}
		out.Changes, names = append(out.Changes, change), append(names, strings.TrimSpace(m.Name+" "+string(step.Outcome)))
	}
	if len(names) == 0 {
		return Result{}, bot.SayNotTrained.With(training.ErrSame)
	}
	words := "there"
	if said[2] != "" {
		words = "not there"
	}
	text := fmt.Sprintf("%s, %s: %s. It counts once an officer confirms the session.", sessionName(s), words, list(names, "and"))
	if len(same) > 0 {
		text += fmt.Sprintf(" Down as that already: %s.", list(same, "and"))
	}
	if len(off) > 0 {
		text += " Your own word earns you no hours off duty: another officer can enter you."
	}
	out.Posts = []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{confirmButton(s), r.undoButton()}}}}
	return out, nil
}

var andBetween = regexp.MustCompile(`(?i)\s+(?:and|&)\s+`)

func confirmButton(s training.Session) bot.Button {
	return bot.Button{Label: "Confirm (officer)", Value: sessionVerb + ":confirm:" + s.Key}
}

// attendance is the entry about one who is named, perhaps with a result behind the
// name. An officer's entry about themselves is their own tap in other words.
func (r *Request) attendance(s training.Session, name string, struck bool, reason string) (training.SessionStep, department.Member, error) {
	step := training.SessionStep{Key: s.Key, What: training.SessionAttended, Reason: reason}
	if struck {
		step.What = training.SessionStruck
	}
	name = strings.TrimSpace(name)
	for _, said := range []struct {
		words   string
		outcome training.Outcome
	}{{"did not pass", training.NeedsMore}, {"not passed", training.NeedsMore}, {"failed", training.NeedsMore}, {"needs more", training.NeedsMore}, {"passed", training.Passed}} {
		if rest, ok := strings.CutSuffix(strings.ToLower(name), " "+said.words); ok {
			name, step.Outcome = name[:len(rest)], said.outcome
			break
		}
	}
	m, err := r.memberSaid(name)
	if err != nil {
		return step, m, err
	}
	for _, was := range s.There() {
		if was.Member == m.ID && step.Outcome == "" && !struck { // what was said of them before stays
			step.Outcome = was.Outcome
		}
	}
	step.Member, step.Name, step.Crew = m.ID, m.Name, training.Crew{Unit: m.Unit, Platoon: m.Platoon}
	step.OffDuty = m.ID == r.Who.Person && r.offDutyAt(m, m.Platoon, s.Details())
	return step, m, nil
}

// memberSaid is the member of a name, or of a part of it that only one has.
func (r *Request) memberSaid(name string) (department.Member, error) {
	if m, err := r.memberByName(name); err == nil {
		return m, nil
	}
	var found []department.Member
	for _, m := range r.Department.Members {
		if name != "" && wordIn(" "+strings.ToLower(m.Name)+" ", strings.ToLower(name)) {
			found = append(found, m)
		}
	}
	if len(found) != 1 {
		return department.Member{}, bot.SayNobodyCalled.With(name)
	}
	return found[0], nil
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

// correctSession enters new details beside the first ones, with the reason. What
// the line does not name stays as it stands.
func (r *Request) correctSession(sessions []training.Session) (Result, error) {
	said := correctSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, err := r.officersSession(sessions, said[1])
	if err != nil {
		return Result{}, err
	}
	details, err := r.sessionDetails(said[2], about.Details())
	if err != nil {
		return Result{}, err
	}
	step := training.SessionStep{Key: about.Key, What: training.SessionCorrected, Details: details, Reason: strings.TrimSuffix(said[3], ".")}
	change, err := r.enter(sessions, step)
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Session %d corrected: %s, %s. The first entry stays beside it. It counts once an officer confirms it.", about.Number, details.Subject, r.detailWords(details))
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{confirmButton(about), r.undoButton()}}}},
		Changes: []bot.Change{change},
	}, nil
}

// cancelSession takes a session out of everything that counts. It stays to be seen.
func (r *Request) cancelSession(sessions []training.Session) (Result, error) {
	said := cancelSaid.FindStringSubmatch(strings.TrimSuffix(strings.TrimSpace(r.Event.Text), "."))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, err := r.officersSession(sessions, said[1])
	if err != nil {
		return Result{}, err
	}
	change, err := r.enter(sessions, training.SessionStep{Key: about.Key, What: training.SessionCancelled, Reason: said[2]})
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("%s, is cancelled: %s. It stays to be seen, and counts for nothing.", sessionName(about), said[2])
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

// noneUsed is a count that is none.
var noneUsed = regexp.MustCompile(`(?i)(?:^|[ ,])(?:0|zero|no|none|nothing)\b`)

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
	if noneUsed.MatchString(said[2]) {
		return Result{}, bot.SayNotTrained.With(training.ErrNothingUsed)
	}
	used, words, err := r.usedSaid(said[2])
	if err != nil {
		return Result{}, err
	}
	change, err := r.enter(sessions, training.SessionStep{Key: about.Key, What: training.SessionUsed, Used: used})
	if err != nil {
		return Result{}, err
	}
	text := fmt.Sprintf("Used up in training, session %d, %s: %s. It counts as training's use in the yearly request, apart from calls. It takes nothing out of a kit: report what is short.",
		about.Number, about.Details().Subject, list(words, "and"))
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}

// usedSaid reads how many of what, part by part, so that no part is dropped.
func (r *Request) usedSaid(said string) (pieces map[string]int, words []string, err error) {
	pieces = make(map[string]int)
	for part := range strings.SplitSeq(andBetween.ReplaceAllString(said, ","), ",") {
		if part = strings.Trim(part, " ."); part == "" {
			continue
		}
		read := r.Read(part+" missing", understand.Context{Unit: r.Who.Unit})
		if len(read.Lines) != 1 || read.Pending != nil {
			return nil, nil, bot.SayUsedWhat.With()
		}
		line := read.Lines[0]
		pieces[line.Item] += line.Count
		words = append(words, fmt.Sprintf("%d × %s", line.Count, r.itemName(line.Item)))
	}
	return pieces, words, nil
}

// confirmSession shows an officer for whom they are about to vouch. The tap that
// follows counts for these entries and no others.
func (r *Request) confirmSession(sessions []training.Session, key string) (Result, error) {
	at := findSession(sessions, key)
	switch {
	case !r.Who.May(department.Officer):
		return Result{}, bot.SayOfficerOnly.With()
	case at < 0:
		return Result{}, bot.SayNotTrained.With(training.ErrNoSession)
	}
	s := sessions[at]
	if _, err := r.enter(sessions, training.SessionStep{Key: key, What: training.SessionConfirmed}); err != nil {
		return Result{}, err
	}
	reply := r.sessionPage(s)
	reply.Text += " You vouch for all of this."
	if s.Vouched != nil {
		reply.Text += " Until then it counts as it was confirmed before."
	}
	reply.Buttons = []bot.Button{{Label: "Yes, that is right", Value: fmt.Sprintf("%s:vouch:%s:%d", sessionVerb, s.Key, len(s.Later))}}
	return Answer(reply), nil
}

// vouch is the officer's word, for what they were shown.
func (r *Request) vouch(sessions []training.Session, ref string) (Result, error) {
	key, entries, _ := cutLast(ref, ":")
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	if at := findSession(sessions, key); at >= 0 && strconv.Itoa(len(sessions[at].Later)) != entries {
		return r.confirmSession(sessions, key) // somebody tapped meanwhile
	}
	change, err := r.enter(sessions, training.SessionStep{Key: key, What: training.SessionConfirmed})
	if err != nil {
		return Result{}, err
	}
	s := sessions[findSession(sessions, key)]
	d := s.Details()
	overlap := ""
	if s.Shares(training.Records(sessions)) {
		overlap = " Time that another session has counts once."
	}
	text := fmt.Sprintf("Session %d confirmed by %s: %s, %s, %s, %.2f hours each.%s", s.Number, r.Who.Member.Name, d.Subject, r.dayOnly(d.Start), plural(len(s.There()), "member"), d.Length().Hours(), overlap)
	return Result{Posts: []Post{{OnPressed: true, Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: []bot.Change{change}}, nil
}
