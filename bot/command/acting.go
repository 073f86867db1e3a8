package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
)

// ActingCommand gives somebody a role for a while: an acting officer, a deputy
// lead, an acting quartermaster. It ends at a set time by itself, and whatever
// they sign meanwhile says "acting".
func ActingCommand() Command {
	return Command{
		Name:    actingVerb,
		Usage:   "{member} is acting lead until Friday",
		For:     department.Lead,
		Summary: "Give somebody an officer's, the quartermaster's or the lead's role until a set day.",
		Run:     act,
	}
}

// The verb of the command, and the journal's word for a role held for a while.
const (
	actingVerb = "acting"
	actingKind = "acting"
)

// How long an acting role lasts when nobody says, and at most. An acting
// officer's ends with the tour.
const (
	actingDays     = 7
	mostActingDays = 92
)

var (
	actingWords = regexp.MustCompile(`(?i)\b(?:acting|deputy|stand(?:s|ing)? in (?:as|for))\s+(?:the\s+)?(officer|lead|quartermaster|kit officer|programme lead|program lead)\b|^who (?:is )?acting\b|^acting$`)
	actingEnds  = regexp.MustCompile(`(?i)\b(?:no longer|not|ends?|stops?|over|done)\b`)
	roleNames   = regexp.MustCompile(`\b(?:acting|deputy|officer|lead|quartermaster|kit|programme|program|platoon|transfers?)\b`)
	selfWords   = regexp.MustCompile(`(?i)\b(?:i|i'm|im|me|myself)\b`)
)

// actingRoles are the roles by the words for them.
var actingRoles = map[string]department.Role{
	"officer": department.Officer, "lead": department.Lead, "programme lead": department.Lead, "program lead": department.Lead,
	"quartermaster": department.Quartermaster, "kit officer": department.Quartermaster,
}

// acting is everybody who holds or held a role for a while.
func (r *Request) acting(ctx context.Context) ([]department.Acting, error) {
	return fold(ctx, r, actingKind, func(entries []bot.Entry) ([]department.Acting, error) {
		steps, err := bodies[department.ActingStep](entries)
		return department.ActingRoles(steps, func(i int) time.Time { return entries[i].At }), err
	})
}

// May says whether the speaker holds the role or one above it, by the file or
// for now.
func (w Who) May(role department.Role) bool {
	return w.Member.May(role) || department.Member{Roles: w.Acting}.May(role)
}

func act(ctx context.Context, r *Request) (Result, error) {
	said := actingWords.FindStringSubmatch(r.Event.Text)
	if r.Verb != actingVerb || r.Ref != "say" {
		return r.pressActing(ctx)
	}
	if said == nil || said[1] == "" {
		return r.whoActs(ctx)
	}
	role := actingRoles[strings.ToLower(said[1])]
	member, err := r.memberNamed()
	if err != nil {
		return Result{}, err
	}
	step := department.ActingStep{Member: member.ID, Role: role, Until: r.actingUntil(role), End: actingEnds.MatchString(r.Event.Text)}
	if step.End {
		step.Until = r.Now
	}
	return r.appoint(member, step)
}

// appoint writes the step, or asks somebody who may. A role is given by one who
// holds it in earnest: nobody makes a deputy while being one.
func (r *Request) appoint(member department.Member, step department.ActingStep) (Result, error) {
	name, role := member.Name, string(step.Role)
	if step.Until.After(r.Now.AddDate(0, 0, mostActingDays)) {
		return Result{}, bot.SayActingLong.With(mostActingDays)
	}
	if !r.Who.Member.May(step.Role) && !(step.End && member.ID == r.Who.Person) {
		value := strings.Join([]string{actingVerb, member.ID, role, step.Until.Format("0601021504")}, ":")
		if step.End || len(value) > bot.MaxButtonValue {
			return Result{}, bot.SayActingWho.With(role)
		}
		return Answer(bot.Reply{
			Text:    fmt.Sprintf("%s as acting %s until %s: one who holds that role, or a higher one, says so with a tap.", name, role, r.moment(step.Until)),
			Buttons: []bot.Button{{Label: "Yes (" + role + ")", Value: value}},
		}), nil
	}
	text := fmt.Sprintf("%s is acting %s until %s. It ends then by itself, and what they sign says acting.", name, role, r.moment(step.Until))
	if step.End {
		text = fmt.Sprintf("%s is not acting %s any more.", name, role)
	}
	entry := bot.NewEntry(actingKind, member.ID, r.Who.Person, r.Now, step)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// pressActing takes the tap of one who may: MEMBER:ROLE:UNTIL.
func (r *Request) pressActing(_ context.Context) (Result, error) {
	parts := append(strings.SplitN(r.Ref, ":", 3), "", "")
	member, known := r.Department.Member(parts[0])
	until, err := time.ParseInLocation("0601021504", parts[2], r.Department.Zone)
	role := department.Role(parts[1])
	if !known || err != nil || !until.After(r.Now) || !slices.Contains(department.Roles(), role) {
		return Result{}, bot.SayOldButton.With()
	}
	if !r.Who.Member.May(role) {
		return Result{}, bot.SayActingWho.With(string(role))
	}
	return r.appoint(member, department.ActingStep{Member: member.ID, Role: role, Until: until})
}

// actingUntil is when the role ends: the end of the day named, or else of the
// tour for an officer and of a week for the others.
func (r *Request) actingUntil(role department.Role) time.Time {
	if len(r.Reading.Days) > 0 {
		if day, ok := dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone)); ok && !day.AddDate(0, 0, 1).Before(r.Now) {
			return day.AddDate(0, 0, 1)
		}
	}
	if role == department.Officer {
		return r.Department.Rotation.TourAt(r.Now).End
	}
	return r.Now.AddDate(0, 0, actingDays)
}

// memberNamed is the one member whom a message names, or the speaker.
func (r *Request) memberNamed() (department.Member, error) {
	said := " " + strings.ToLower(r.Event.Text) + " "
	var named []department.Member
	for _, m := range r.Department.Members {
		if strings.Contains(said, strings.ToLower(m.Name)) {
			named = append(named, m)
		}
	}
	said = roleNames.ReplaceAllString(said, " ") // a role is nobody's name
	if len(named) == 0 {
		named = slices.DeleteFunc(slices.Clone(r.Department.Members), func(m department.Member) bool {
			words := strings.Fields(strings.ToLower(m.Name))
			return !slices.ContainsFunc(words, func(w string) bool { return len(w) > 2 && wordIn(said, w) })
		})
	}
	switch {
	case len(named) == 1:
		return named[0], nil
	case len(named) == 0 && r.Who.Member.ID != "" && selfWords.MatchString(r.Event.Text):
		return r.Who.Member, nil
	}
	return department.Member{}, bot.SayActingName.With()
}

func wordIn(said, word string) bool {
	i := strings.Index(said, word)
	if i < 1 {
		return false
	}
	letter := func(b byte) bool { return b >= 'a' && b <= 'z' }
	return !letter(said[i-1]) && !letter(said[i+len(word)])
}

// whoActs lists who holds a role for now.
func (r *Request) whoActs(ctx context.Context) (Result, error) {
	words, err := r.actsNow(ctx)
	if err != nil {
		return Result{}, err
	}
	if len(words) == 0 {
		return Say("Nobody acts in a role now. To name one: {member} is acting lead until Friday."), nil
	}
	return Say(strings.Join(words, "\n")), nil
}

func (r *Request) actsNow(ctx context.Context) ([]string, error) {
	all, err := r.acting(ctx)
	if err != nil {
		return nil, err
	}
	var words []string
	for _, a := range all {
		if m, known := r.Department.Member(a.Member); known && a.Until.After(r.Now) {
			words = append(words, fmt.Sprintf("%s: acting %s until %s", m.Name, a.Role, r.moment(a.Until)))
		}
	}
	return words, nil
}

// signed is the name of who did something at a moment, with the role that they
// only acted in.
func (r *Request) signed(ctx context.Context, person string, at time.Time) (string, error) {
	m, known := r.Department.Member(person)
	if !known {
		return person, nil
	}
	all, err := r.acting(ctx)
	if err != nil {
		return "", err
	}
	roles := department.ActingAt(all, person, at)
	if m.Acting && !slices.Contains(roles, department.Officer) {
		roles = append(roles, department.Officer)
	}
	name := m.Name
	for _, role := range roles {
		name += ", acting " + string(role)
	}
	return name, nil
}
