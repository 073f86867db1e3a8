package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"kitbell/bot"
)

// Send makes one try. It follows bot.Adapter. A message in a channel carries its
// key, so that the platform shows it once however often it is tried. What only
// one person sees in a channel can carry none: a try whose answer was lost may
// show it twice, to that person.
func (a *Adapter) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	if err := ctx.Err(); err != nil {
		return bot.MessageRef{}, fmt.Errorf("send: %w", err)
	}
	s := sending{Adapter: a, to: o.To, key: o.Key, title: o.Reply.Title, body: contentOf(o.Reply), handle: a.handles.get(o.Answers)}
	if o.To.Channel == bot.HomeChannel {
		return bot.MessageRef{}, fmt.Errorf("page of a person: %w", bot.ErrUnsupported)
	}
	if s.title == "" {
		s.title = "Answer"
	}
	s.draw(ctx, o.Reply.Pictures)
	ref, err := s.send(ctx, o.Edit)
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("send message: %w", err)
	}
	return ref, nil
}

// sending is one message on its way.
type sending struct {
	*Adapter
	to     bot.Address
	key    string
	title  string // of a thread, where one is made
	body   content
	files  []upload
	handle *handle // of what it answers; nil when there is none any more
}

func (s *sending) send(ctx context.Context, edit *bot.MessageRef) (bot.MessageRef, error) {
	if s.handle != nil {
		if ref, ok := s.handle.before(s.key); ok {
			return ref, nil
		}
		if !s.handle.ready(ctx) {
			s.handle = nil
		}
	}
	if err := ctx.Err(); err != nil {
		return bot.MessageRef{}, err
	}
	private := s.to.Person != "" && s.to.Workspace != ""
	switch {
	case edit != nil && edit.ID != "" && !onlyOne(edit.Address):
		return s.change(ctx, *edit)
	case edit != nil && edit.ID != "":
		if ref, err := s.changePrivately(ctx, *edit); err == nil || !errors.Is(err, bot.ErrNotFound) {
			return ref, err
		}
		return s.privately(ctx)
	case private && s.to.Channel != "":
		return s.privately(ctx)
	}
	return s.publicly(ctx)
}

// onlyOne says whether a message at an address was seen by one person in a
// channel.
func onlyOne(at bot.Address) bool { return at.Person != "" && at.Workspace != "" }

// publicly keeps the promise of a first answer, where that was one for all to
// see, or posts.
func (s *sending) publicly(ctx context.Context) (bot.MessageRef, error) {
	if s.handle != nil && s.to.Channel != "" {
		if ref, done, err := s.promised(ctx, false); done {
			return ref, err
		}
	}
	ref, err := s.post(ctx)
	if s.handle != nil && errors.Is(err, bot.ErrNotFound) {
		return s.byToken(ctx, http.MethodPost, "", s.body) // the bot may not write there, but may answer there
	}
	return ref, err
}

// privately shows a message to one person: by the token of what they did, or in
// their own line where there is none.
func (s *sending) privately(ctx context.Context) (bot.MessageRef, error) {
	if s.handle == nil {
		return s.direct(ctx)
	}
	if ref, done, err := s.promised(ctx, true); done {
		return ref, err
	}
	body := s.body
	body.Flags |= ephemeralFlag
	ref, err := s.byToken(ctx, http.MethodPost, "", body)
	if errors.Is(err, bot.ErrNotFound) {
		return s.direct(ctx) // the token has died meanwhile
	}
	return ref, err
}

// promised puts the message where the first answer promised one, when that is
// seen by those who shall see this one; else the promise is taken back, so that
// it does not stand there for ever.
func (s *sending) promised(ctx context.Context, private bool) (ref bot.MessageRef, done bool, err error) {
	wasPrivate, open := s.handle.promise()
	if !open {
		return bot.MessageRef{}, false, nil
	}
	if wasPrivate != private {
		s.takeBack(ctx)
		return bot.MessageRef{}, false, nil
	}
	ref, err = s.byToken(ctx, http.MethodPatch, "/messages/@original", s.body)
	if errors.Is(err, bot.ErrNotFound) {
		return bot.MessageRef{}, false, nil
	}
	if err != nil {
		s.handle.giveBack()
	}
	return ref, true, err
}

// takeBack removes the sign that an answer is coming.
func (s *sending) takeBack(ctx context.Context) {
	path := "webhooks/" + s.handle.application + "/" + s.handle.token + "/messages/@original"
	if err := s.do(ctx, request{method: http.MethodDelete, path: path, secret: true}, nil); err != nil {
		s.options.Log.InfoContext(ctx, "promise of an answer not taken back", "error", err)
	}
}

// byToken sends by a reply token. What it shows is remembered with the token:
// only the token can change what one person saw.
func (s *sending) byToken(ctx context.Context, method, below string, body content) (bot.MessageRef, error) {
	h := s.handle
	var m created
	path := "webhooks/" + h.application + "/" + h.token + below
	if err := s.do(ctx, request{method: method, path: path, body: body, files: s.files, secret: true}, &m); err != nil {
		return bot.MessageRef{}, err
	}
	ref := bot.MessageRef{Address: s.to, ID: m.ID}
	if !onlyOne(s.to) && m.Channel == s.to.Channel {
		ref.Address.Thread = "" // it stands where the command was typed
	}
	h.remember(s.key, ref)
	if onlyOne(s.to) {
		s.handles.keep("message/"+m.ID, h)
	}
	return ref, nil
}

// changePrivately changes what one person saw, while its token lives.
func (s *sending) changePrivately(ctx context.Context, ref bot.MessageRef) (bot.MessageRef, error) {
	h := s.handles.get("message/" + ref.ID)
	if h == nil {
		return bot.MessageRef{}, bot.ErrNotFound
	}
	own := s.handle
	s.handle = h
	defer func() { s.handle = own }()
	if !isID(ref.ID) {
		return bot.MessageRef{}, bot.ErrNotFound
	}
	return s.byToken(ctx, http.MethodPatch, "/messages/"+ref.ID, s.body)
}

// change changes a message in a channel.
func (s *sending) change(ctx context.Context, ref bot.MessageRef) (bot.MessageRef, error) {
	if s.handle != nil {
		if _, open := s.handle.promise(); open {
			s.takeBack(ctx)
		}
	}
	err := s.do(ctx, request{method: http.MethodPatch, path: "channels/" + channelOf(ref.Address) + "/messages/" + ref.ID, body: s.body, files: s.files}, nil)
	return ref, err
}

// channelOf is the platform's channel of an address: a thread is one of its own.
func channelOf(at bot.Address) string {
	if at.Thread != "" && at.Workspace != "" {
		return at.Thread
	}
	return at.Channel
}

// post shows a message in a channel, a thread or a person's own line.
func (s *sending) post(ctx context.Context) (bot.MessageRef, error) {
	if s.to.Channel == "" {
		return s.direct(ctx)
	}
	s.thread(ctx)
	return s.into(ctx, channelOf(s.to))
}

func (s *sending) into(ctx context.Context, channel string) (bot.MessageRef, error) {
	body := s.body
	if s.key != "" {
		body.Nonce, body.Enforce = nonceOf(s.key), true
	}
	var m created
	if err := s.do(ctx, request{method: http.MethodPost, path: "channels/" + channel + "/messages", body: body, files: s.files}, &m); err != nil {
		return bot.MessageRef{}, err
	}
	return bot.MessageRef{Address: s.to, ID: m.ID}, nil
}

type created struct {
	ID      string `json:"id"`
	Channel string `json:"channel_id"`
}

// thread sees to it that the thread is there. One that hangs below a message has
// that message's id; where it cannot be made, the answer stands in the channel.
func (s *sending) thread(ctx context.Context) {
	if s.to.Workspace == "" {
		s.to.Thread = ""
	}
	if s.to.Thread == "" {
		return
	}
	if _, known := s.places.get(s.to.Thread); known {
		return
	}
	var c channel
	path := "channels/" + s.to.Channel + "/messages/" + s.to.Thread + "/threads"
	body := struct {
		Name    string `json:"name"`
		Archive int    `json:"auto_archive_duration"`
	}{bot.Shorten(s.title, 100), 1440}
	err := s.call(ctx, http.MethodPost, path, body, &c)
	switch {
	case err == nil:
		c.Parent, c.Guild = s.to.Channel, s.to.Workspace
		s.places.learn(c)
	case hasCode(err, codeHasThread):
	case hasCode(err, codeUnknownMessage, codeUnknownChannel) && s.exists(ctx):
	default:
		s.options.Log.InfoContext(ctx, "no thread made, answering in the channel", "error", err)
		s.to.Thread = ""
	}
}

// exists says whether the address's thread is one that hangs below no message.
func (s *sending) exists(ctx context.Context) bool {
	c, err := s.place(ctx, s.to.Thread)
	return err == nil && c.thread()
}

// direct shows a message in the person's own line.
func (s *sending) direct(ctx context.Context) (bot.MessageRef, error) {
	there := s.to
	line, err := s.line(ctx, s.to.Person)
	if err == nil {
		s.to = bot.Address{Platform: Name, Channel: line, Person: s.to.Person}
		var ref bot.MessageRef
		if ref, err = s.into(ctx, line); err == nil {
			return ref, nil
		}
	}
	if hasCode(err, codeNoDirect) && there.Channel != "" && there.Workspace != "" {
		return s.excuse(ctx, there)
	}
	return bot.MessageRef{}, fmt.Errorf("write to a person's own line: %w", err)
}

// excuse says in the channel, without a word of the answer, that its person takes
// no direct messages.
func (s *sending) excuse(ctx context.Context, at bot.Address) (bot.MessageRef, error) {
	s.to, s.files = at, nil
	s.to.Person = ""
	s.body = contentOf(bot.Reply{Text: bot.SayNoDirect.With().Say})
	return s.into(ctx, channelOf(s.to))
}

// line is the channel of a person's own line.
func (a *Adapter) line(ctx context.Context, person string) (string, error) {
	a.mu.Lock()
	id := a.lines[person]
	a.mu.Unlock()
	if id != "" {
		return id, nil
	}
	var c channel
	body := struct {
		Person string `json:"recipient_id"`
	}{person}
	if err := a.call(ctx, http.MethodPost, "users/@me/channels", body, &c); err != nil {
		return "", err
	}
	a.places.learn(c)
	a.mu.Lock()
	defer a.mu.Unlock()
	a.lines[person] = c.ID
	return c.ID, nil
}

// draw draws the pictures. The words beside a picture say it all, so trouble is
// for the log only.
func (s *sending) draw(ctx context.Context, pictures []bot.Picture) {
	if s.options.Draw == nil || len(pictures) == 0 {
		return
	}
	place, ok := s.options.Directory(s.to, s.to.Person)
	if !ok {
		return
	}
	for _, p := range pictures[:min(len(pictures), maxPictures)] {
		png, err := s.options.Draw(place.Department, p.Scene)
		if err != nil {
			s.options.Log.WarnContext(ctx, "picture not sent", "scene", p.Scene, "error", err)
			continue
		}
		name := fmt.Sprintf("drawing-%d.png", len(s.files)+1)
		s.body.Files = append(s.body.Files, attached{ID: len(s.files), Name: name, Description: bot.Shorten(p.Alt, maxAlt)})
		s.files = append(s.files, upload{name: name, content: png})
	}
}
