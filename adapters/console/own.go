package console

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"strings"
	"unicode"

	"kitbell/bot"
)

// ownLine takes a line of the terminal's own apart: a colon, a name, and what
// stands behind it. own is false for all other lines.
func ownLine(line string) (name, arg string, own bool) {
	rest, own := strings.CutPrefix(line, ":")
	if !own {
		return "", "", false
	}
	rest = strings.TrimSpace(rest)
	end := strings.IndexFunc(rest, unicode.IsSpace)
	if end < 0 {
		end = len(rest)
	}
	return strings.ToLower(rest[:end]), strings.TrimSpace(rest[end:]), true
}

// own does what a line of the terminal's own asks. io.EOF means to leave.
func (a *Adapter) own(ctx context.Context, name, arg string) error {
	switch name {
	case "as":
		return a.show(a.speakAs(arg))
	case "in":
		return a.show(a.typeIn(arg))
	case "who":
		return a.show(a.whoIsIt())
	case "clock":
		return a.show(a.moveClock(ctx, arg))
	case "help":
		return a.show(help()...)
	case "quit":
		return io.EOF
	}
	return a.show(sayUnknown.With(short(name), ownNames).Say)
}

func (a *Adapter) speakAs(name string) string {
	switch {
	case name == "":
		return sayWhom.With().Say
	case a.options.Who == nil:
		return sayNobody.With().Say
	}
	p, err := a.options.Who(name)
	if err != nil {
		return a.sentence(err, "person not found")
	}
	a.move(p)
	return a.whoIsIt()
}

func (a *Adapter) typeIn(channel string) string {
	channel = strings.TrimPrefix(channel, "#")
	if channel == "" {
		return sayWhere.With(a.look.channel(a.at.Channel)).Say
	}
	known, ok := a.channel(channel)
	if !ok {
		return sayNoChannel.With(short(channel), a.channelNames()).Say
	}
	a.move(Person{Speaker: a.at.Speaker, Channel: known})
	return a.whoIsIt()
}

// move changes who speaks, and where.
func (a *Adapter) move(to Person) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.at = to
}

// channel finds a channel as it is written in the list, whatever the case.
func (a *Adapter) channel(name string) (string, bool) {
	if len(a.options.Channels) == 0 {
		return name, true
	}
	for _, c := range a.options.Channels {
		if strings.EqualFold(strings.TrimPrefix(c, "#"), name) {
			return c, true
		}
	}
	return "", false
}

func (a *Adapter) channelNames() string {
	names := make([]string, len(a.options.Channels))
	for i, c := range a.options.Channels {
		names[i] = a.look.channel(c)
	}
	return strings.Join(names, ", ")
}

func (a *Adapter) whoIsIt() string {
	return sayYouAre.With(a.at.name(), a.look.channel(a.at.Channel)).Say
}

func (a *Adapter) moveClock(ctx context.Context, arg string) string {
	if a.options.MoveClock == nil {
		return sayNoClock.With().Say
	}
	said, err := a.options.MoveClock(ctx, arg)
	if err != nil {
		return a.sentence(err, "clock not moved")
	}
	return said
}

// sentence is what the person hears of an error. One that is not meant for them
// is logged under a short reference.
func (a *Adapter) sentence(err error, what string) string {
	var forPerson *bot.UserError
	if errors.As(err, &forPerson) {
		return forPerson.Say
	}
	reference := rand.Text()[:6]
	a.options.Log.Error(what, "reference", reference, "error", err)
	return bot.SayTrouble.With(reference).Say
}

func (p Person) name() string {
	if p.Speaker.Name != "" {
		return p.Speaker.Name
	}
	return p.Speaker.ID
}

// short is a word of the person's as a sentence may repeat it.
func short(word string) string {
	const most = 24
	runes := []rune(oneLine(word))
	if len(runes) > most {
		return string(runes[:most]) + "..."
	}
	return string(runes)
}
