package slack

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
)

// The kinds of payload, by the words of Socket Mode.
const (
	kindEvent    = "events_api"
	kindSlash    = "slash_commands"
	kindInteract = "interactive"
)

// ReportShortcut is the id of the message shortcut in the manifest.
const ReportShortcut = "report_this"

// heard is what a payload says that somebody did, and how the platform lets it
// be answered at once.
type heard struct {
	event   bot.Event
	trigger string // opens a form, for three seconds
	reply   string // secret address that takes a few answers
	plain   bool   // a sentence that was not said to the bot
}

// hear reads a payload. ok is false for what concerns nobody: other apps'
// messages, joins, changes that change no words.
func (a *Adapter) hear(kind string, raw json.RawMessage) (h heard, ok bool, err error) {
	switch kind {
	case kindEvent:
		c, err := decode[callback](raw)
		if err != nil || c.Type != "event_callback" {
			return heard{}, false, err
		}
		if c.Event.Type == "message" || c.Event.Type == "app_mention" {
			a.learnShared(c.Team, c.Event.Channel, c.Shared)
		}
		h, ok = hearEvent(c)
	case kindSlash:
		s, err := decode[slash](raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = hearSlash(s)
	case kindInteract:
		i, err := decode[interaction](raw)
		if err != nil {
			return heard{}, false, err
		}
		h, ok = hearInteraction(i)
	}
	h.event.Where.Platform = Name
	h.event.Outside = h.event.Outside || a.isShared(h.event.Where)
	if h.event.At.IsZero() {
		h.event.At = a.options.Clock.Now()
	}
	return h, ok && h.event.From.ID != "" && h.event.ID != "", nil
}

func hearEvent(c callback) (heard, bool) {
	e := c.Event
	switch {
	case e.Bot != "" || e.Changed != nil && e.Changed.Bot != "" || e.User == c.self():
		return heard{}, false
	case e.Type == "app_home_opened":
		return c.opened()
	case e.Type == "reaction_added":
		return c.reacted()
	case e.Type == "app_mention" && e.Edited.TS == "", e.Type == "message" && saidBy(e.Subtype):
		return c.said()
	case e.Type == "message" && e.Subtype == "message_changed":
		return c.edited()
	case e.Type == "message" && e.Subtype == "message_deleted":
		return c.deleted()
	}
	return heard{}, false
}

// saidBy says whether a message of the subtype is a person's own words.
func saidBy(subtype string) bool {
	return subtype == "" || subtype == "file_share" || subtype == "thread_broadcast" || subtype == "me_message"
}

// self is the bot's own user id in the workspace, where the platform says it.
func (c callback) self() string {
	for _, a := range c.Authorizations {
		if a.Bot {
			return a.User
		}
	}
	return ""
}

// event begins an event by a person in a place.
func (c callback) event(m message) bot.Event {
	e := bot.Event{
		At: momentOf(m.TS), From: bot.Speaker{ID: m.User}, Where: bot.Address{Workspace: c.Team, Channel: c.Event.Channel},
		Outside: c.Shared || m.UserTeam != "" && m.UserTeam != c.Team, On: m.TS,
	}
	if m.Thread != m.TS {
		e.Where.Thread = m.Thread
	}
	if direct(e.Where.Channel) {
		e.On = "" // in a person's own line answers need no thread
	}
	return e
}

// saidID names a message. A mention and the plain message that it is have the
// same id, so only the first of them counts.
func (c callback) saidID(ts string) string { return c.Team + "/" + c.Event.Channel + "/" + ts }

func (c callback) said() (heard, bool) {
	e := c.event(c.Event.message)
	e.ID, e.Kind = c.saidID(c.Event.TS), bot.Said
	e.Text, e.Direct = c.words(c.Event.Text)
	e.Direct = e.Direct || c.Event.Type == "app_mention" || c.Event.ChannelType == "im"
	e.Files = filesOf(c.Team, c.Event.Files)
	switch {
	case strings.TrimSpace(e.Text) != "":
	case len(e.Files) > 0:
		e.Kind = bot.Shared
	case e.Direct:
		e.Text = "help" // only the bot's name
	}
	return heard{event: e, plain: !e.Direct}, true
}

func (c callback) edited() (heard, bool) {
	if c.Event.Changed == nil || c.Event.Previous == nil || c.Event.Changed.Text == c.Event.Previous.Text {
		return heard{}, false // a link that was unfolded, a thread that grew
	}
	m := *c.Event.Changed
	e := c.event(m)
	e.Kind, e.About = bot.Edited, c.saidID(m.TS)
	e.ID = bot.EditID(e.About, m.Edited.TS)
	e.At = momentOf(m.Edited.TS)
	e.Text, e.Direct = c.words(m.Text)
	e.Direct = e.Direct || c.Event.ChannelType == "im"
	return heard{event: e, plain: !e.Direct}, true
}

func (c callback) deleted() (heard, bool) {
	if c.Event.Previous == nil {
		return heard{}, false
	}
	m := *c.Event.Previous
	e := c.event(m)
	e.Kind, e.About = bot.Deleted, c.saidID(m.TS)
	e.ID, e.At = e.About+"/deleted", time.Time{}
	_, e.Direct = c.words(m.Text)
	e.Direct = e.Direct || c.Event.ChannelType == "im"
	return heard{event: e, plain: !e.Direct}, true
}

func (c callback) reacted() (heard, bool) {
	e := bot.Event{
		ID: "mark/" + c.ID, Kind: bot.Reacted, At: momentOf(c.Event.EventTS), From: bot.Speaker{ID: c.Event.User}, Text: c.Event.Reaction,
		Where: bot.Address{Workspace: c.Team, Channel: c.Event.Item.Channel}, On: c.Event.Item.TS, Outside: c.Shared,
	}
	return heard{event: e, plain: true}, c.ID != "" && e.On != ""
}

func (c callback) opened() (heard, bool) {
	e := bot.Event{
		ID: "home/" + c.ID, Kind: bot.Opened, At: momentOf(c.Event.EventTS), From: bot.Speaker{ID: c.Event.User}, Direct: true,
		Where: bot.Address{Workspace: c.Team, Channel: bot.HomeChannel, Person: c.Event.User},
	}
	return heard{event: e}, c.ID != "" && (c.Event.Tab == "" || c.Event.Tab == "home")
}

// words are a message's words as a person reads them, without the bot's name;
// named says whether that was there.
func (c callback) words(text string) (words string, named bool) {
	self := c.self()
	if self == "" && c.Event.Type == "app_mention" {
		self = firstMention(text)
	}
	if self == "" {
		return strings.TrimSpace(readable(text)), false
	}
	mention := "<@" + self + ">"
	named = strings.Contains(text, mention)
	return strings.TrimSpace(readable(strings.ReplaceAll(text, mention, " "))), named
}

func hearSlash(s slash) (heard, bool) {
	e := bot.Event{
		ID: "slash/" + s.Trigger, Kind: bot.Said, From: bot.Speaker{ID: s.User}, Direct: true,
		Where: bot.Address{Workspace: s.Team, Channel: s.Channel}, Text: strings.TrimSpace(readable(s.Text)),
	}
	if !direct(s.Channel) {
		e.Where.Person = s.User // nobody else saw what was typed
	}
	if e.Text == "" {
		e.Text = "help"
	}
	return heard{event: e, trigger: s.Trigger, reply: s.Reply}, s.Trigger != ""
}

func hearInteraction(i interaction) (heard, bool) {
	switch i.Type {
	case "block_actions":
		return i.press()
	case "view_submission":
		return i.submitted()
	case "message_action":
		return i.shortcut()
	}
	return heard{}, false
}

func (i interaction) event() bot.Event {
	return bot.Event{
		From: bot.Speaker{ID: i.User.ID}, Direct: true, Outside: i.User.Team != "" && i.User.Team != i.Team.ID,
		Where: bot.Address{Workspace: i.Team.ID, Channel: i.Channel.ID},
	}
}

func (i interaction) press() (heard, bool) {
	if len(i.Actions) == 0 || i.Actions[0].pressed() == "" {
		return heard{}, false
	}
	e := i.event()
	e.ID, e.Kind, e.Press, e.At = "press/"+i.Trigger, bot.Pressed, i.Actions[0].pressed(), momentOf(i.Actions[0].TS)
	if i.Trigger == "" {
		e.ID = "press/" + i.Actions[0].TS + "/" + i.User.ID
	}
	switch {
	case i.Container.Type == "view":
		e.Where.Person = i.User.ID // the bot's page has no channel to answer in
	case i.Container.Ephemeral:
		e.Where.Person, e.Where.Thread = i.User.ID, i.Container.Thread
	default:
		e.On = i.Message.TS
		if i.Message.Thread != i.Message.TS {
			e.Where.Thread = i.Message.Thread
		}
	}
	return heard{event: e, trigger: i.Trigger, reply: i.Reply}, i.Actions[0].TS != ""
}

func (i interaction) submitted() (heard, bool) {
	e := i.event()
	e.ID, e.Kind, e.Form, e.Values = "form/"+i.View.ID, bot.Submitted, i.View.Callback, i.View.values()
	var from bot.Address
	if json.Unmarshal([]byte(i.View.Private), &from) == nil {
		e.Where.Channel, e.Where.Thread = from.Channel, from.Thread
	}
	if e.Where.Channel == "" {
		e.Where.Person = i.User.ID
	}
	return heard{event: e}, i.View.ID != ""
}

// shortcut makes of "report this" the message's words, said by the one who
// chose it.
func (i interaction) shortcut() (heard, bool) {
	e := i.event()
	e.ID, e.Kind, e.Text = "shortcut/"+i.Trigger, bot.Said, strings.TrimSpace(readable(i.Message.Text))
	e.Files = filesOf(i.Team.ID, i.Message.Files)
	if i.Message.Thread != i.Message.TS {
		e.Where.Thread = i.Message.Thread
	}
	if e.Text == "" && len(e.Files) > 0 {
		e.Kind = bot.Shared
	}
	return heard{event: e, reply: i.Reply}, i.Callback == ReportShortcut && (e.Text != "" || e.Kind == bot.Shared)
}

// filesOf names files by their workspace, whose token reads them, and their id.
func filesOf(workspace string, files []file) []bot.File {
	var out []bot.File
	for _, f := range files {
		kind := bot.OtherFile
		switch {
		case strings.HasPrefix(f.Mime, "image/"):
			kind = bot.PictureFile
		case strings.HasPrefix(f.Mime, "audio/") || f.Subtype == "slack_audio":
			kind = bot.VoiceFile
		}
		out = append(out, bot.File{ID: workspace + "/" + f.ID, Kind: kind, Size: f.Size})
	}
	return out
}

// direct says whether a channel is a person's own line to the bot.
func direct(channel string) bool { return strings.HasPrefix(channel, "D") }

// momentOf reads a platform's timestamp: seconds and, behind a dot,
// microseconds. The zero time for what is none.
func momentOf(ts string) time.Time {
	seconds, rest, _ := strings.Cut(ts, ".")
	s, err := strconv.ParseInt(seconds, 10, 64)
	if err != nil || s <= 0 || s > 1<<40 {
		return time.Time{}
	}
	micros, _ := strconv.ParseInt(rest, 10, 64)
	if micros < 0 || micros > 999_999 {
		micros = 0
	}
	return time.Unix(s, micros*1000).UTC()
}
