package command

import (
	"context"
	"regexp"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// HelpCommand lists what can be typed: what every crew does, or on the word "all"
// what each desk does as well. commands are those that the router has.
func HelpCommand(commands []Command) Command {
	return Command{
		Name:    string(understand.Help),
		Usage:   "help",
		Summary: "See what you can type.",
		Private: true,
		Run: func(_ context.Context, r *Request) (Result, error) {
			if !r.Who.member() && r.Who.Member.ID != "" {
				return Answer(guestHelp()), nil
			}
			about := helpAbout.FindStringSubmatch(strings.Trim(r.Event.Text, " .!?"))
			if about == nil {
				about = helpFirst.FindStringSubmatch(strings.Trim(r.Event.Text, " .!?"))
			}
			if about != nil && !wantsAll.MatchString(about[1]) {
				if reply, found := helpOn(commands, about[1]); found {
					return Answer(reply), nil
				}
			}
			return Answer(help(commands, wantsAll.MatchString(r.Event.Text))), nil
		},
	}
}

var wantsAll = regexp.MustCompile(`(?i)\b(?:all|everything|more)\b`)

// helpAbout is help on a subject.
var helpAbout = regexp.MustCompile(`(?i)^(?:help|how do (?:i|we) (?:see|correct|book|use|do|get|enter|make|cancel|confirm|sign|type)|what can i type)(?: me)?(?: (?:on|with|about|for|a|an|the|my|our))* (.+)$`)

// helpFirst is a message that begins with the word help: whatever follows is a
// subject, and nothing to be noted.
var helpFirst = regexp.MustCompile(`(?i)^help(?: me)?(?: (?:on|with|about|for|a|an|the|my|our))* (.+)$`)

// helpSubject is help on what the bot does. Help at a door, or with a question, is
// something else.
var helpSubject = regexp.MustCompile(`(?i)^help(?: me)?(?: (?:on|with|about|for|a|an|the|my|our))* (?:training|sessions?|hours?|task ?books?|sign-?offs?|wish(?:es)?|budgets?|requests?|hearings?|drills?|roll-?outs?|pictures?|figures?|readiness|queue|checks?|kits?|loans?|shelf|stop-?use|acting|duty|riding|cards?|undo|reports?|exports?|records?)$`)

// helpOn lists what can be typed about a subject: of each command that speaks of
// it, everything.
func helpOn(commands []Command, subject string) (reply bot.Reply, found bool) {
	words := subjectWords(subject)
	reply = bot.Reply{Title: "Help on " + subject}
	for _, c := range commands {
		all := append([]Example{{c.Usage, c.Summary}}, c.More...)
		if c.Summary == "" || !slices.ContainsFunc(all, func(e Example) bool { return speaksOf(c.Name+" "+e.Usage+" "+e.Summary, words) }) {
			continue
		}
		for _, e := range all {
			reply.Fields = append(reply.Fields, bot.Field{Name: e.Usage, Value: e.Summary})
		}
	}
	return reply, len(words) > 0 && len(reply.Fields) > 0
}

// speaksOf says whether a text has each of the words, or one that begins like it.
func speaksOf(text string, words []string) bool {
	low := " " + strings.NewReplacer("-", " ", ":", " ").Replace(strings.ToLower(text))
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(low, " "+w) })
}

// subjectWords are the words of a subject as they begin: without a plural's ending,
// and without small words.
func subjectWords(subject string) []string {
	var words []string
	for word := range strings.FieldsSeq(strings.ReplaceAll(strings.ToLower(subject), "-", " ")) {
		word = strings.TrimSuffix(strings.TrimSuffix(word, "s"), "e")
		if len(word) > 2 && !smallWords[word] {
			words = append(words, word)
		}
	}
	return words
}

// helpDesks are whose work is listed apart from every crew's, in the order of
// help.
func helpDesks() []struct {
	role  department.Role
	title string
} {
	return []struct {
		role  department.Role
		title string
	}{{department.Officer, "officers"}, {department.Quartermaster, "the quartermaster"}, {department.Training, "training"}, {department.Lead, "the lead"}}
}

func help(commands []Command, all bool) bot.Reply {
	reply := bot.Reply{Title: "Type it as you would say it."}
	list := func(who department.Role, title string) {
		for _, c := range commands {
			if c.Summary == "" || c.For != who {
				continue
			}
			if title != "" {
				reply.Fields = append(reply.Fields, bot.Field{Name: "For", Value: title})
				title = ""
			}
			reply.Fields = append(reply.Fields, bot.Field{Name: c.Usage, Value: c.Summary})
		}
	}
	list("", "")
	if !all {
		reply.Fields = append(reply.Fields, bot.Field{Name: "help all", Value: "See what officers, the quartermaster, training and the lead type."})
		return reply
	}
	for _, desk := range helpDesks() {
		list(desk.role, desk.title)
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "help sessions", Value: "See all that can be typed about a subject: sessions, hours, the task book, wishes, the budget."})
	reply.Fields = append(reply.Fields, bot.Field{Name: "Anything else", Value: notedWords})
	return reply
}

// guestHelp is for cadets, civilians and crews of others.
func guestHelp() bot.Reply {
	return bot.Reply{Title: "Type it as you would say it.", Fields: []bot.Field{
		{Name: "{rig} is missing the small hook", Value: "Report what is missing or broken. It joins the queue."},
		{Name: "queue {rig}", Value: "See what is open."},
		{Name: "undo", Value: "Take back what you just did."},
	}}
}

// notedWords says what is kept as a note for somebody's desk.
const notedWords = "A kit that moved, a loan, stock, a sign-off: say it, and I note it for the one whose desk it is."

// NoneCommand answers what asks for nothing: with silence in a channel, with a
// hint where the bot itself was spoken to.
func NoneCommand() Command {
	return Command{
		Name: string(understand.None),
		Run: func(_ context.Context, r *Request) (Result, error) {
			switch {
			case r.Verb != "":
				return r.passOffKit()
			case r.Reading.OffKit != "" && r.Event.Direct:
				return r.notMine(), nil
			case r.Event.Direct:
				return Say("Nothing to do for me there. Type help to see what I do."), nil
			}
			return Result{}, nil
		},
	}
}
