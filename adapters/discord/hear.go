package discord

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"kitbell/bot"
)

// ReportCommand is the name of the message command.
const ReportCommand = "Report this"

// heard is what a payload says that somebody did.
type heard struct {
	event   bot.Event
	message string // id of the message that it is about
	plain   bool   // a sentence that was not said to the bot
}

// hear reads what a payload says about a message. ok is false for what concerns
// nobody.
func (a *Adapter) hear(ctx context.Context, kind string, raw json.RawMessage) (h heard, ok bool, err error) {
	if kind == "MESSAGE_REACTION_ADD" {
		r, err := decode[reaction](raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.reacted(ctx, r)
		return h, ok, nil
	}
	m, err := decode[message](raw)
	if err != nil || !isID(m.ID) || !isID(m.Channel) || m.Guild != "" && !isID(m.Guild) {
		return heard{}, false, err
	}
	switch kind {
	case "MESSAGE_CREATE":
		h, ok = a.said(ctx, m)
	case "MESSAGE_UPDATE":
		h, ok = a.edited(ctx, m)
	case "MESSAGE_DELETE":
		h, ok = a.deleted(ctx, m)
	}
	h.message = m.ID
	return h, ok, nil
}

// where is a channel as an address: a thread lies in its channel. A person's own
// line has no guild.
func (a *Adapter) where(ctx context.Context, guild, id string) bot.Address {
	at := bot.Address{Platform: Name, Workspace: guild, Channel: id}
	if guild == "" {
		kind := typeDirect
		a.places.learn(channel{ID: id, Type: &kind})
		return at
	}
	c, err := a.place(ctx, id)
	if err != nil {
		a.options.Log.InfoContext(ctx, "channel not looked up", "channel", id, "error", err)
		return at
	}
	return under(at, c)
}

// under puts a thread below its channel.
func under(at bot.Address, c channel) bot.Address {
	if c.thread() && isID(c.Parent) {
		at.Channel, at.Thread = c.Parent, c.ID
	}
	return at
}

// messageEvent begins an event about a person's message.
func (a *Adapter) messageEvent(ctx context.Context, m message) (e bot.Event, ok bool) {
	_, self := a.whoami()
	switch {
	case m.Author == nil || !isID(m.Author.ID) || m.Author.Bot || m.Author.ID == self || m.Webhook != "":
		return bot.Event{}, false
	case m.Type != 0 && m.Type != 19: // 19 is a reply
		return bot.Event{}, false
	}
	e = bot.Event{At: momentOf(m.ID), From: bot.Speaker{ID: m.Author.ID}, Where: a.where(ctx, m.Guild, m.Channel), On: m.ID}
	if m.Guild == "" {
		e.On = "" // in a person's own line answers need no thread
	}
	e.Text, e.Direct = m.words(self)
	e.Direct = e.Direct || m.Guild == ""
	return e, true
}

func saidID(message string) string { return "m" + message }

func (a *Adapter) said(ctx context.Context, m message) (heard, bool) {
	e, ok := a.messageEvent(ctx, m)
	if !ok {
		return heard{}, false
	}
	e.ID, e.Kind, e.Files = saidID(m.ID), bot.Said, m.files()
	switch {
	case e.Text != "":
	case len(e.Files) > 0:
		e.Kind = bot.Shared
	case e.Direct && strings.TrimSpace(m.Content) != "":
		e.Text = "help" // only the bot's name
	default:
		return heard{}, false // without the intent other people's words are not there
	}
	return heard{event: e, plain: !e.Direct}, true
}

func (a *Adapter) edited(ctx context.Context, m message) (heard, bool) {
	e, ok := a.messageEvent(ctx, m)
	if !ok || m.Edited == nil || *m.Edited == "" || e.Text == "" {
		return heard{}, false // a link that was unfolded
	}
	e.Kind, e.About = bot.Edited, saidID(m.ID)
	e.ID = bot.EditID(e.About, *m.Edited)
	if at, err := time.Parse(time.RFC3339, *m.Edited); err == nil && at.Year() > 2014 {
		e.At = at.UTC()
	}
	return heard{event: e, plain: !e.Direct}, true
}

// deleted tells of a message that was heard. The platform does not say whose it
// was.
func (a *Adapter) deleted(ctx context.Context, m message) (heard, bool) {
	by, ok := a.recent.get(m.ID)
	if !ok {
		return heard{}, false
	}
	e := bot.Event{
		ID: saidID(m.ID) + "/deleted", Kind: bot.Deleted, At: a.options.Clock.Now(), From: bot.Speaker{ID: by.id},
		Where: a.where(ctx, m.Guild, m.Channel), About: saidID(m.ID), Direct: by.direct,
	}
	return heard{event: e, plain: !by.direct}, true
}

func (a *Adapter) reacted(ctx context.Context, r reaction) (heard, bool) {
	_, self := a.whoami()
	if !isID(r.User) || !isID(r.Message) || !isID(r.Channel) || r.Emoji.Name == "" || r.User == self {
		return heard{}, false
	}
	e := bot.Event{
		ID: "mark/" + r.Message + "/" + r.User + "/" + r.Emoji.Name, Kind: bot.Reacted, At: a.options.Clock.Now(), From: bot.Speaker{ID: r.User},
		Where: a.where(ctx, r.Guild, r.Channel), Text: r.Emoji.Name, On: r.Message,
	}
	return heard{event: e, plain: true, message: r.Message}, true
}

// files names a message's files by where the API finds them again: links to
// them expire.
func (m message) files() []bot.File {
	var out []bot.File
	for _, f := range m.Attachments {
		kind := bot.OtherFile
		switch {
		case strings.HasPrefix(f.Mime, "image/"):
			kind = bot.PictureFile
		case strings.HasPrefix(f.Mime, "audio/"):
			kind = bot.VoiceFile
		}
		out = append(out, bot.File{ID: strings.Join([]string{m.Channel, m.ID, f.ID}, "/"), Kind: kind, Size: f.Size})
	}
	return out
}

// interacted reads a press, a command or a form. Typing has only a place and a
// person.
func (a *Adapter) interacted(ctx context.Context, i interaction) (heard, bool) {
	e := bot.Event{
		ID: "i" + i.ID, At: momentOf(i.ID), From: bot.Speaker{ID: i.person()}, Where: a.whereOf(i), Direct: true,
		Outside: i.Context != nil && *i.Context == betweenOthers || i.Guild == "" && i.In.group(),
	}
	switch i.Type {
	case pressInteraction:
		e.Kind, e.Press = bot.Pressed, pressedValue(i)
		if i.Message != nil && i.Message.Flags&ephemeralFlag == 0 {
			e.On = i.Message.ID
		} else if i.Guild != "" {
			e.Where.Person = e.From.ID
		}
		return heard{event: e}, e.Press != ""
	case formInteraction:
		var press string
		e.Kind, e.Values = bot.Submitted, i.formValues()
		e.Form, press, _ = strings.Cut(i.Data.ID, valueMark)
		if f, ok := a.prompted(ctx, e, press); ok {
			chosen(f, e.Values)
		}
		return heard{event: e}, e.Form != ""
	case commandInteraction:
		return a.commanded(i, e)
	}
	return heard{event: e}, false
}

// betweenOthers is the context of an interaction in a line that is not the
// bot's own.
const betweenOthers = 2

// whereOf is the place of an interaction. The channel comes with it.
func (a *Adapter) whereOf(i interaction) bot.Address {
	at := bot.Address{Platform: Name, Workspace: i.Guild, Channel: i.Channel}
	if c := i.In; c.ID == i.Channel && c.Type != nil {
		c.Guild = i.Guild
		a.places.learn(c)
		return under(at, c)
	}
	c, _ := a.places.get(i.Channel)
	return under(at, c)
}

// commanded makes of a command the sentence or the form that it stands for.
func (a *Adapter) commanded(i interaction, e bot.Event) (heard, bool) {
	if i.Data.Kind == messageCommandKind {
		_, self := a.whoami()
		m := i.Data.Resolved.Messages[i.Data.Target]
		m.ID, m.Channel = i.Data.Target, i.Channel
		e.Kind, e.Files = bot.Said, m.files()
		e.Text, _ = m.words(self)
		if e.Text == "" && len(e.Files) > 0 {
			e.Kind = bot.Shared
		}
		return heard{event: e}, i.Data.Name == ReportCommand && (e.Text != "" || e.Kind == bot.Shared)
	}
	spec, ok := a.spec(i.Data.Name)
	if !ok {
		return heard{}, false
	}
	if spec.Private && i.Guild != "" {
		e.Where.Person = e.From.ID
	}
	values := make(map[string]string)
	words := []string{spec.Lead}
	for _, o := range i.Data.Options {
		values[o.Name] = o.text()
		words = append(words, o.text())
	}
	if spec.Form != "" {
		e.Kind, e.Form, e.Values = bot.Submitted, spec.Form, values
		return heard{event: e}, true
	}
	e.Kind, e.Text = bot.Said, strings.TrimSpace(strings.Join(words, " "))
	return heard{event: e}, e.Text != ""
}

func (a *Adapter) spec(name string) (CommandSpec, bool) {
	for _, s := range a.options.Commands {
		if s.Name == name {
			return s, true
		}
	}
	return CommandSpec{}, false
}

// valueMark parts a button's own value from the number before it that makes its
// id the only one on its message.
const valueMark = "|"

func pressedValue(i interaction) string {
	id := i.Data.ID
	if len(i.Data.Values) > 0 {
		id = i.Data.Values[0]
	}
	_, value, ok := strings.Cut(id, valueMark)
	if !ok {
		return ""
	}
	return value
}

// typing gives what a person has typed into a field that suggests.
func (a *Adapter) typing(i interaction) (bot.Partial, bool) {
	spec, ok := a.spec(i.Data.Name)
	if !ok {
		return bot.Partial{}, false
	}
	for _, o := range i.Data.Options {
		for _, s := range spec.Options {
			if o.Focused && s.Name == o.Name && s.Suggests != "" {
				return bot.Partial{
					From: bot.Speaker{ID: i.person()}, Where: a.whereOf(i), Command: spec.Name, Field: s.Suggests, Text: o.text(),
				}, true
			}
		}
	}
	return bot.Partial{}, false
}
