package discord

import (
	"slices"
	"strings"
	"time"

	"kitbell/bot"
)

// ReportCommand is the name of the message command.
const ReportCommand = "Report this"

// heard is what a payload says that somebody did.
type heard struct {
	event       bot.Event
	plain       bool // a sentence that was not said to the bot
	interaction *interaction
}

// hear reads a delivery. ok is false for what concerns nobody.
func (a *Adapter) hear(d delivery) (h heard, ok bool, err error) {
	switch d.kind {
	case "MESSAGE_CREATE":
		m, err := decode[message](d.raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.said(m)
	case "MESSAGE_UPDATE":
		m, err := decode[message](d.raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.edited(m)
	case "MESSAGE_DELETE":
		m, err := decode[deletion](d.raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.deleted(m)
	case "MESSAGE_REACTION_ADD":
		r, err := decode[reaction](d.raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.reacted(r)
	case "INTERACTION_CREATE":
		i, err := decode[interaction](d.raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = a.interacted(i)
	}
	h.event.Where.Platform = Name
	if h.event.At.IsZero() {
		h.event.At = a.options.Clock.Now()
	}
	return h, ok && h.event.ID != "" && h.event.From.ID != "", nil
}

// address is where a channel is; a thread lies in its channel.
func (a *Adapter) address(guild, channel string) bot.Address {
	a.mu.Lock()
	defer a.mu.Unlock()
	if parent := a.parents[channel]; parent != "" {
		return bot.Address{Workspace: guild, Channel: parent, Thread: channel}
	}
	return bot.Address{Workspace: guild, Channel: channel}
}

// noteThread remembers in which channel a thread lies.
func (a *Adapter) noteThread(c channel) {
	if !c.thread() || c.Parent == "" {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.parents) > mostTokens {
		clear(a.parents)
	}
	a.parents[c.ID] = c.Parent
}

// messageEvent begins an event about a person's message.
func (a *Adapter) messageEvent(m message) (e bot.Event, ok bool) {
	if m.Author == nil || m.Author.Bot || m.Webhook != "" || m.ID == "" || m.Type != 0 && m.Type != 19 { // 19 is a reply
		return bot.Event{}, false
	}
	e = bot.Event{
		At: momentOf(m.ID), From: bot.Speaker{ID: m.Author.ID}, Where: a.address(m.Guild, m.Channel), On: m.ID,
	}
	if m.Guild == "" {
		e.On = "" // in a person's own line answers need no thread
	}
	e.Text, e.Direct = a.words(m)
	e.Direct = e.Direct || m.Guild == ""
	return e, true
}

// words are a message's words without the bot's name; named says whether that
// was there.
func (a *Adapter) words(m message) (words string, named bool) {
	a.mu.Lock()
	self := a.self
	a.mu.Unlock()
	named = self != "" && slices.ContainsFunc(m.Mentions, func(u user) bool { return u.ID == self })
	words = m.Content
	if named {
		words = strings.NewReplacer("<@"+self+">", " ", "<@!"+self+">", " ").Replace(words)
	}
	return strings.TrimSpace(words), named
}

func saidID(message string) string { return "m" + message }

func (a *Adapter) said(m message) (heard, bool) {
	e, ok := a.messageEvent(m)
	if !ok {
		return heard{}, false
	}
	a.remember(m)
	e.ID, e.Kind, e.Files = saidID(m.ID), bot.Said, a.filesOf(m)
	switch {
	case e.Text != "":
	case len(e.Files) > 0:
		e.Kind = bot.Shared
	case e.Direct:
		e.Text = "help" // only the bot's name
	default:
		return heard{}, false // without the intent other people's words are not there
	}
	return heard{event: e, plain: !e.Direct}, true
}

// remember keeps who wrote a message, and that it was seen.
func (a *Adapter) remember(m message) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if last := a.seen[m.Channel]; len(m.ID) > len(last) || len(m.ID) == len(last) && m.ID > last {
		a.seen[m.Channel] = m.ID
	}
	if _, known := a.authors[m.ID]; known {
		return
	}
	a.authors[m.ID] = m.Author.ID
	a.order = append(a.order, m.ID)
	if len(a.order) > mostWaiting {
		delete(a.authors, a.order[0])
		a.order = a.order[1:]
	}
}

func (a *Adapter) edited(m message) (heard, bool) {
	e, ok := a.messageEvent(m)
	if !ok || m.Edited == nil || *m.Edited == "" || e.Text == "" {
		return heard{}, false // a link that was unfolded
	}
	e.Kind, e.About = bot.Edited, saidID(m.ID)
	e.ID = e.About + "/edited/" + *m.Edited
	if at, err := time.Parse(time.RFC3339, *m.Edited); err == nil {
		e.At = at
	}
	return heard{event: e, plain: !e.Direct}, true
}

// deleted tells of a message that was heard. The platform does not say whose it
// was.
func (a *Adapter) deleted(m deletion) (heard, bool) {
	a.mu.Lock()
	author := a.authors[m.ID]
	a.mu.Unlock()
	e := bot.Event{
		ID: saidID(m.ID) + "/deleted", Kind: bot.Deleted, From: bot.Speaker{ID: author}, Where: a.address(m.Guild, m.Channel),
		About: saidID(m.ID), Direct: m.Guild == "",
	}
	return heard{event: e, plain: !e.Direct}, author != ""
}

func (a *Adapter) reacted(r reaction) (heard, bool) {
	e := bot.Event{
		ID: "mark/" + r.Message + "/" + r.User + "/" + r.Emoji.Name, Kind: bot.Reacted, From: bot.Speaker{ID: r.User},
		Where: a.address(r.Guild, r.Channel), Text: r.Emoji.Name, On: r.Message,
	}
	a.mu.Lock()
	mine := r.User == a.self
	a.mu.Unlock()
	return heard{event: e, plain: true}, !mine && r.Message != ""
}

// filesOf names a message's files by where the API finds them again: links to
// them expire.
func (a *Adapter) filesOf(m message) []bot.File {
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

// interacted reads a press, a command or a form. Typing has no event of its own.
func (a *Adapter) interacted(i interaction) (heard, bool) {
	a.noteThread(i.In)
	e := bot.Event{
		ID: "i" + i.ID, At: momentOf(i.ID), From: bot.Speaker{ID: i.person()}, Where: a.address(i.Guild, i.Channel), Direct: true,
	}
	switch i.Type {
	case pressInteraction:
		e.Kind, e.Press = bot.Pressed, pressedValue(i)
		if i.Message != nil && i.Message.Flags&ephemeralFlag == 0 {
			e.On = i.Message.ID
		} else if i.Guild != "" {
			e.Where.Person = e.From.ID
		}
		return heard{event: e, interaction: &i}, e.Press != ""
	case formInteraction:
		e.Kind, e.Form, e.Values = bot.Submitted, i.Data.ID, i.formValues()
		return heard{event: e, interaction: &i}, e.Form != ""
	case commandInteraction:
		return a.commanded(i, e)
	case typingInteraction:
		e.Kind = "typing"
		return heard{event: e, interaction: &i}, true
	}
	return heard{}, false // an interaction that could not be decoded has type 0
}

// commanded makes of a command the sentence or the form that it stands for.
func (a *Adapter) commanded(i interaction, e bot.Event) (heard, bool) {
	if i.Data.Kind == messageCommandKind {
		m := i.Data.Resolved.Messages[i.Data.Target]
		e.Kind, e.Text = bot.Said, strings.TrimSpace(m.Content)
		return heard{event: e, interaction: &i}, i.Data.Name == ReportCommand && e.Text != ""
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
		return heard{event: e, interaction: &i}, true
	}
	e.Kind, e.Text = bot.Said, strings.TrimSpace(strings.Join(words, " "))
	return heard{event: e, interaction: &i}, e.Text != ""
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
					From: bot.Speaker{ID: i.person()}, Where: a.address(i.Guild, i.Channel), Command: spec.Name, Field: s.Suggests, Text: o.text(),
				}, true
			}
		}
	}
	return bot.Partial{}, false
}
