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
)

// AccessCommand decides who is let in on a chat platform: a first-time choice
// that an officer confirms, and the cut of somebody who left or lost a phone.
func AccessCommand() Command {
	return Command{
		Name:    accessVerb,
		Usage:   "cut access {member}",
		For:     department.Officer,
		Summary: "For officers: let a person in, or cut a leaver's or a lost phone's access at once.",
		Run:     access,
	}
}

// The verb of the command, and the journal's words for what becomes of an
// account and of a person's access.
const (
	accessVerb  = "access"
	accountKind = "account"
	accessKind  = "access"
)

// atThisMachine says whether a platform is the program's own, where who speaks
// has been let in by the machine: a terminal, a command line.
func atThisMachine(platform string) bool { return platform == "console" || platform == "say" }

// accountState says how a claim to be a member stands.
type accountState string

const (
	claimed   accountState = "claimed"
	confirmed accountState = "confirmed"
	refused   accountState = "refused"
)

// accountStep is the body of an entry about an account; its subject is
// platform:id.
type accountStep struct {
	Member string       `json:"member"`
	State  accountState `json:"state"`
	Where  bot.Address  `json:"where"` // where the claim was made, to answer there
}

// accessStep is the body of an entry about a member's access, its subject.
type accessStep struct {
	Cut bool `json:"cut"`
}

// account is how an account stands.
type account struct {
	accountStep
	at    time.Time
	steps int // how many there have been; a button names the one that it saw
}

// accounts gives the latest step of each account that is not in the file.
func (r *Request) accounts(ctx context.Context) (map[string]account, error) {
	return fold(ctx, r, accountKind, func(entries []bot.Entry) (map[string]account, error) {
		steps, err := bodies[accountStep](entries)
		all := make(map[string]account, len(steps))
		for i, s := range steps {
			id := entries[i].Subject
			all[id] = account{s, entries[i].At, all[id].steps + 1}
		}
		return all, err
	})
}

// cuts gives, by member, the last word on their access and when it was said.
func (r *Request) cuts(ctx context.Context) (map[string]cut, error) {
	return fold(ctx, r, accessKind, func(entries []bot.Entry) (map[string]cut, error) {
		steps, err := bodies[accessStep](entries)
		all := make(map[string]cut)
		for i, s := range steps {
			last := all[entries[i].Subject]
			if s.Cut {
				last.last = entries[i].At
			}
			last.now = s.Cut
			all[entries[i].Subject] = last
		}
		return all, err
	})
}

// cut is whether a member's access is cut now, and when it was last.
type cut struct {
	now  bool
	last time.Time
}

// memberBehind is the member whom a confirmed claim ties to an account. A claim
// from before the member's access was cut does not count: the phone may be in
// other hands.
func (r *Request) memberBehind(ctx context.Context, accountID string) (department.Member, bool, error) {
	all, err := r.accounts(ctx)
	if err != nil {
		return department.Member{}, false, err
	}
	a, ok := all[accountID]
	if !ok || a.State != confirmed {
		return department.Member{}, false, nil
	}
	cuts, err := r.cuts(ctx)
	if err != nil || !cuts[a.Member].last.Before(a.at) {
		return department.Member{}, false, err
	}
	member, known := r.Department.Member(a.Member)
	return member, known, nil
}

// gate decides whether a person is heard at all. stop is true when they are
// not, and result is then all that comes of it. On the terminal everybody is
// who they say.
func (r *Request) gate(ctx context.Context) (result Result, stop bool, err error) {
	off, err := r.isCut(ctx)
	if err != nil {
		return Result{}, false, err
	}
	switch {
	case off:
		return r.turnAway(bot.SayAccessCut), true, nil
	case atThisMachine(r.Event.Where.Platform) || r.Event.From.Member != "":
		return Result{}, false, nil
	case r.Event.Outside:
		return r.turnAway(bot.SayOutside), true, nil
	case r.Who.Member.ID != "":
		return Result{}, false, nil
	}
	if name, said := r.saysName(); said {
		result, err = r.claim(ctx, name)
		if forPerson, ok := asUserError(err); ok {
			return Answer(bot.Reply{Text: forPerson, Private: true}), true, nil
		}
		return result, true, err
	}
	return r.turnAway(bot.SayStranger), true, nil
}

// saysName is the name that somebody says is theirs, or types alone.
func (r *Request) saysName() (name string, ok bool) {
	text := strings.Join(strings.Fields(r.Event.Text), " ")
	if said := iAm.FindStringSubmatch(text); said != nil {
		return said[1], true
	}
	_, err := r.memberByName(text)
	return text, err == nil
}

// isCut says whether the person's access is cut: that of the member whom the
// file or a claim, even one that does not count any more, puts behind the
// account.
func (r *Request) isCut(ctx context.Context) (bool, error) {
	cuts, err := r.cuts(ctx)
	if err != nil || len(cuts) == 0 {
		return false, err
	}
	member := r.Who.Member.ID
	if member == "" {
		all, err := r.accounts(ctx)
		if err != nil {
			return false, err
		}
		if a := all[r.accountID()]; a.State == confirmed {
			member = a.Member
		}
	}
	return cuts[member].now, nil
}

// turnAway says why, to the person alone and only where the bot was spoken to.
func (r *Request) turnAway(why bot.Sentence) Result {
	if !r.Event.Direct || r.Event.Kind == bot.Reacted || r.Event.Kind == bot.Deleted {
		return Result{}
	}
	return Answer(bot.Reply{Text: why.With().Say, Private: true})
}

var (
	iAm        = regexp.MustCompile(`(?i)^(?:hi|hello|hey)?[ ,.!]*(?:i am|i'm|i’m|im|this is|it's|its|it’s|my name is)[\s,:]+(?:and )?(.{2,60}?)(?:,? (?:from|on|of|at) .{1,40}?)?[.!]*$`)
	lostPhone  = regexp.MustCompile(`(?i)\b(?:lost|stole|stolen)\b.*\b(?:phone|cell|mobile)\b|\b(?:phone|cell|mobile)\b.*\b(?:lost|stolen)\b`)
	cutOff     = regexp.MustCompile(`(?i)^(?:please )?cut off\b`)
	cutWords   = regexp.MustCompile(`(?i)\b(?:cut|block|remove|revoke|end|stop|take)\b.*\baccess\b|\baccess\b.*\b(?:cut|off|blocked|removed)\b`)
	givesBack  = regexp.MustCompile(`(?i)\b(?:give|restore|return|bring)\b.*\baccess\b|\baccess\b.*\bback\b`)
	accessSaid = regexp.MustCompile(`(?i)\baccess\b`)
)

// accessWords gives the button that a sentence about somebody's access stands
// for.
func accessWords(text string) (press string, ok bool) {
	switch {
	case cutOff.MatchString(text):
		return accessVerb + ":cut", true
	case lostPhone.MatchString(text):
		return accessVerb + ":lost", true
	case !accessSaid.MatchString(text):
		return "", false
	case givesBack.MatchString(text):
		return accessVerb + ":back", true
	case cutWords.MatchString(text):
		return accessVerb + ":cut", true
	}
	return "", false
}

// claim keeps that an account says to be a member, and asks an officer.
func (r *Request) claim(ctx context.Context, name string) (Result, error) {
	member, err := r.memberByName(name)
	if err != nil {
		return Result{}, err
	}
	id := r.accountID()
	taken, err := r.hasAccount(ctx, member, id)
	if err != nil {
		return Result{}, err
	}
	if taken {
		return Result{}, bot.SayAccountTaken.With(member.Name)
	}
	all, err := r.accounts(ctx)
	if err != nil {
		return Result{}, err
	}
	noted := Post{Reply: bot.Reply{Text: bot.SayClaimed.With(member.Name).Say, Private: true}}
	if a := all[id]; a.State == claimed && a.Member == member.ID { // the officers have been asked
		return Result{Posts: []Post{noted}}, nil
	}
	step := accountStep{Member: member.ID, State: claimed, Where: r.Event.Where}
	yes, no := claimValue("yes", all[id].steps+1, id), claimValue("no", all[id].steps+1, id)
	if len(yes) > bot.MaxButtonValue {
		return Result{}, bot.SayAccountLong.With()
	}
	ask := bot.Reply{
		Title:   "Is this " + member.Name + "?",
		Text:    fmt.Sprintf("Somebody on %s says so. Ask them by voice before you confirm: whoever it is hears technique from then on.", r.Event.Where.Platform),
		Fields:  r.claimFields(ctx, member),
		Buttons: []bot.Button{{Label: "Confirm", Value: yes}, {Label: "Refuse", Value: no}},
	}
	return Result{
		Posts:   []Post{noted, {To: r.officers(), Reply: ask}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(accountKind, id, id, r.Now, step)}},
	}, nil
}

// claimFields is what an officer should know beside the claim.
func (r *Request) claimFields(ctx context.Context, m department.Member) []bot.Field {
	account := r.Event.From.ID
	if r.Event.From.Name != "" {
		account = r.Event.From.Name + " (" + account + ")"
	}
	fields := []bot.Field{{Name: "Account", Value: account}}
	if cuts, err := r.cuts(ctx); err == nil && cuts[m.ID].now {
		fields = append(fields, bot.Field{Name: "Mind", Value: "The access of " + m.Name + " is cut. It stays cut until " + r.givesBack(m) + " gives it back."})
	}
	return fields
}

// claimValue is a button under a claim. It names the account's step, so that an
// officer who was asked about one member never confirms another.
func claimValue(what string, step int, id string) string {
	return fmt.Sprintf("%s:%s:%d:%s", accessVerb, what, step, id)
}

// officers is where officers are asked: their channel, or the programme's.
func (r *Request) officers() Place {
	if len(channels(r.Department, Place{Use: department.OfficersChannel})) > 0 {
		return Place{Use: department.OfficersChannel}
	}
	return Place{Use: department.ProgrammeChannel}
}

func (r *Request) accountID() string { return r.Event.Where.Platform + ":" + r.Event.From.ID }

// memberByName finds one member by the whole name or id.
func (r *Request) memberByName(name string) (department.Member, error) {
	i := slices.IndexFunc(r.Department.Members, func(m department.Member) bool {
		return strings.EqualFold(m.Name, strings.TrimSpace(name)) || m.ID == strings.ToLower(strings.TrimSpace(name))
	})
	if i < 0 {
		return department.Member{}, bot.SayActingName.With()
	}
	return r.Department.Members[i], nil
}

// hasAccount says whether a member is known on an account's platform already, by
// the file or by a confirmed claim of another account.
func (r *Request) hasAccount(ctx context.Context, m department.Member, account string) (bool, error) {
	platform, _, _ := strings.Cut(account, ":")
	if m.Accounts[platform] != "" {
		return true, nil
	}
	all, err := r.accounts(ctx)
	if err != nil {
		return false, err
	}
	for id, a := range all {
		if a.Member != m.ID || a.State != confirmed || !strings.HasPrefix(id, platform+":") || id == account {
			continue
		}
		if behind, ok, err := r.memberBehind(ctx, id); err != nil || ok && behind.ID == m.ID {
			return ok, err
		}
	}
	return false, nil
}

func access(ctx context.Context, r *Request) (Result, error) {
	what, id, _ := strings.Cut(r.Ref, ":")
	switch {
	case r.Verb != accessVerb:
		return Result{}, bot.SayOldButton.With()
	case what == "yes" || what == "no":
		return r.decideClaim(ctx, id, what == "yes")
	case what == "lost":
		return r.askLost()
	case what == "cut" || what == "back":
		return r.setAccess(what == "cut", id)
	}
	return Result{}, bot.SayOldButton.With()
}

// decideClaim takes an officer's word on the claim that a button was under.
func (r *Request) decideClaim(ctx context.Context, ref string, yes bool) (Result, error) {
	all, err := r.accounts(ctx)
	if err != nil {
		return Result{}, err
	}
	step, id, _ := strings.Cut(ref, ":")
	a, ok := all[id]
	member, known := r.Department.Member(a.Member)
	switch {
	case !r.Who.May(department.Officer):
		return Result{}, bot.SayOfficerOnly.With()
	case !ok || !known:
		return Result{}, bot.SayOldButton.With()
	case a.State != claimed:
		return Result{}, bot.SayClaimOver.With(string(a.State))
	case step != strconv.Itoa(a.steps):
		return Result{}, bot.SayClaimNewer.With(member.Name)
	case r.Who.Person == a.Member:
		return Result{}, bot.SayClaimOwn.With()
	}
	taken, err := r.hasAccount(ctx, member, id)
	if err != nil {
		return Result{}, err
	}
	if yes && taken {
		return Result{}, bot.SayAccountTaken.With(member.Name)
	}
	a.State = refused
	text, answer := fmt.Sprintf("Refused: that account is not %s.", member.Name), bot.SayClaimRefused.With().Say
	if yes {
		a.State = confirmed
		text = fmt.Sprintf("Let in: %s, by %s.", member.Name, r.Who.Member.Name)
		answer = fmt.Sprintf("You are let in as %s. Type help to see what I do.", member.Name)
	}
	entry := bot.NewEntry(accountKind, id, r.Who.Person, r.Now, a.accountStep)
	_, person, _ := strings.Cut(id, ":")
	to := a.Where
	to.Person = person
	welcome := bot.Reply{Text: answer, Private: true}
	if yes {
		welcome.Buttons = []bot.Button{introButton()}
	}
	return Result{
		Posts:   []Post{{OnPressed: true, Reply: bot.Reply{Text: text}}, {at: &to, Reply: welcome}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// givesBack is who can give a member's access back.
func (r *Request) givesBack(m department.Member) string {
	if m.May(department.Lead) {
		return "another officer"
	}
	return "the lead"
}

// askLost asks whether a lost phone is meant: the words are a crew's own, and a cut
// takes the bot away from somebody.
func (r *Request) askLost() (Result, error) {
	member, err := r.memberNamed()
	if err != nil {
		return Result{}, err
	}
	return Answer(bot.Reply{
		Text:    "Shall I cut the access of " + member.Name + "? Whoever has the phone reads along until then.",
		Private: true, Buttons: []bot.Button{{Label: "Cut access", Value: accessVerb + ":cut:" + member.ID}},
	}), nil
}

// askToCut brings the word of somebody who is no officer to the officers: a
// phone that was lost cannot wait until one is found.
func (r *Request) askToCut(member department.Member, err error) (Result, error) {
	if err != nil {
		return Result{}, bot.SayOfficerOnly.With()
	}
	ask := bot.Reply{
		Title:   "Cut the access of " + member.Name + "?",
		Text:    r.asker() + " says that a phone is lost, or somebody has left.",
		Buttons: []bot.Button{{Label: "Cut access", Value: accessVerb + ":cut:" + member.ID}},
	}
	return Result{Posts: []Post{{Reply: bot.Reply{Text: "The officers are asked to cut the access of " + member.Name + ".", Private: true}}, {To: r.officers(), Reply: ask}}}, nil
}

// setAccess cuts somebody's access, the lead's and their own too, which an
// officer may at once; or gives it back, which is the lead's to do, and an
// officer's where it is the lead's own.
func (r *Request) setAccess(off bool, id string) (Result, error) {
	member, err := r.memberNamed()
	if m, ok := r.Department.Member(id); ok {
		member, err = m, nil
	}
	switch {
	case off && !r.Who.May(department.Officer):
		return r.askToCut(member, err)
	case err != nil:
		return Result{}, err
	case !off && !r.Who.May(department.Lead) && !(member.May(department.Lead) && r.Who.May(department.Officer)):
		return Result{}, bot.SayLeadOnly.With()
	}
	text := fmt.Sprintf("%s is cut off from now on: messages, forms, and buttons on old messages. %s gives it back.", member.Name, upperFirst(r.givesBack(member)))
	if !off {
		text = fmt.Sprintf("%s is let in again. An account that was not in the file is confirmed anew first.", member.Name)
	}
	entry := bot.NewEntry(accessKind, member.ID, r.Who.Person, r.Now, accessStep{Cut: off})
	return Result{
		Posts:   []Post{{OnPressed: true, Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}
