package discord

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

// privateRef is the id of a message that only one person saw.
const privateRef = "private"

// Send makes one try. It follows bot.Adapter; a message that is tried again with
// its key is shown once.
func (a *Adapter) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	if err := ctx.Err(); err != nil {
		return bot.MessageRef{}, fmt.Errorf("send: %w", err)
	}
	s := sending{Adapter: a, out: o, content: contentOf(o.Reply)}
	s.draw(ctx)
	if o.Edit != nil && o.Edit.ID != "" && o.Edit.ID != privateRef {
		return s.change(ctx, *o.Edit)
	}
	if t, first, ok := a.tokens.find(o.Answers); ok {
		if ref, done, err := s.byToken(ctx, t, first); done {
			return ref, err
		}
	}
	if o.To.Person != "" || o.To.Channel == "" {
		return s.directly(ctx)
	}
	return s.post(ctx, o.To)
}

// sending is one message on its way.
type sending struct {
	*Adapter
	out     bot.Outgoing
	content content
	files   []*discordgo.File
}

// draw attaches the pictures. The words beside a picture say it all, so trouble
// is for the log only.
func (s *sending) draw(ctx context.Context) {
	if s.options.Draw == nil || len(s.out.Reply.Pictures) == 0 {
		return
	}
	place, ok := s.options.Directory(s.out.To, s.out.To.Person)
	if !ok {
		return
	}
	for i, p := range s.out.Reply.Pictures {
		png, err := s.options.Draw(place.Department, p.Scene)
		if err != nil {
			s.options.Log.WarnContext(ctx, "picture not sent", "scene", p.Scene, "error", err)
			continue
		}
		name := fmt.Sprintf("drawing-%d.png", i+1)
		s.content.Files = append(s.content.Files, attached{ID: len(s.files), Name: name, Description: short(p.Alt, maxAlt)})
		s.files = append(s.files, &discordgo.File{Name: name, ContentType: "image/png", Reader: bytes.NewReader(png)})
	}
}

// transmit sends the content, with its files where it has some.
func (s *sending) transmit(ctx context.Context, method, path string, into any) error {
	if len(s.files) == 0 {
		return s.call(ctx, method, path, s.content, into)
	}
	kind, body, err := discordgo.MultipartBodyWithJSON(s.content, s.files)
	if err != nil {
		return fmt.Errorf("encode pictures: %w", err)
	}
	return s.callRaw(ctx, method, path, kind, body, into)
}

type created struct {
	ID      string `json:"id"`
	Channel string `json:"channel_id"`
}

// post puts the message into a channel or a thread. A thread that is not there
// yet is opened below its message, whose id it takes.
func (s *sending) post(ctx context.Context, to bot.Address) (bot.MessageRef, error) {
	s.content.Nonce, s.content.Enforce = nonceOf(s.out.Key), s.out.Key != ""
	if s.out.Key == "" {
		s.content.Nonce = ""
	}
	channel := to.Channel
	if to.Thread != "" {
		channel = to.Thread
	}
	var m created
	err := s.transmit(ctx, "POST", "channels/"+channel+"/messages", &m)
	if errors.Is(err, bot.ErrNotFound) && to.Thread != "" {
		if err = s.openThread(ctx, to); err == nil {
			s.rewind()
			err = s.transmit(ctx, "POST", "channels/"+channel+"/messages", &m)
		}
	}
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("post message: %w", err)
	}
	return bot.MessageRef{Address: to, ID: m.ID}, nil
}

// rewind makes pictures readable once more.
func (s *sending) rewind() {
	for _, f := range s.files {
		if r, ok := f.Reader.(*bytes.Reader); ok {
			r.Reset(mustBytes(r))
		}
	}
}

func mustBytes(r *bytes.Reader) []byte {
	all := make([]byte, r.Size())
	_, _ = r.ReadAt(all, 0) // it lies in memory
	return all
}

// openThread opens a thread below a message.
func (s *sending) openThread(ctx context.Context, to bot.Address) error {
	title := s.out.Reply.Title
	if title == "" {
		title = "Answer"
	}
	body := struct {
		Name    string `json:"name"`
		Archive int    `json:"auto_archive_duration"`
	}{short(title, 100), 1440}
	if err := s.call(ctx, "POST", "channels/"+to.Channel+"/messages/"+to.Thread+"/threads", body, nil); err != nil {
		return fmt.Errorf("open thread: %w", err)
	}
	s.noteThread(channel{ID: to.Thread, Parent: to.Channel, Type: 11})
	return nil
}

func (s *sending) change(ctx context.Context, ref bot.MessageRef) (bot.MessageRef, error) {
	channel := ref.Address.Channel
	if ref.Address.Thread != "" {
		channel = ref.Address.Thread
	}
	s.content.replacing()
	if err := s.transmit(ctx, "PATCH", "channels/"+channel+"/messages/"+ref.ID, nil); err != nil {
		return bot.MessageRef{}, fmt.Errorf("change message: %w", err)
	}
	return ref, nil
}

// byToken answers an interaction by its token. done is false where the message
// belongs into the channel like any other.
func (s *sending) byToken(ctx context.Context, t token, first bool) (ref bot.MessageRef, done bool, err error) {
	hook := "webhooks/" + t.app + "/" + t.secret
	private := s.out.To.Person != "" || s.out.Reply.Private
	ref = bot.MessageRef{Address: s.out.To, ID: privateRef}
	switch {
	case first && private == t.private:
		var m created
		err = s.transmit(ctx, "PATCH", hook+"/messages/@original", &m)
		if !private {
			ref.ID = m.ID
		}
	case private:
		if first { // everybody was told that an answer comes; it is for one person now
			_ = s.call(ctx, "DELETE", hook+"/messages/@original", nil, nil)
		}
		s.content.Flags |= ephemeralFlag
		err = s.transmit(ctx, "POST", hook, nil)
	default:
		if first {
			_ = s.call(ctx, "DELETE", hook+"/messages/@original", nil, nil)
		}
		return bot.MessageRef{}, false, nil
	}
	if errors.Is(err, bot.ErrNotFound) { // the token has had its time
		s.content.Flags &^= ephemeralFlag
		s.rewind()
		return bot.MessageRef{}, false, nil
	}
	if err != nil {
		return bot.MessageRef{}, true, fmt.Errorf("answer interaction: %w", err)
	}
	return ref, true, nil
}

// directly posts into the person's own line.
func (s *sending) directly(ctx context.Context) (bot.MessageRef, error) {
	var line created
	body := struct {
		Person string `json:"recipient_id"`
	}{s.out.To.Person}
	if err := s.call(ctx, "POST", "users/@me/channels", body, &line); err != nil {
		return bot.MessageRef{}, fmt.Errorf("open direct message: %w", err)
	}
	return s.post(ctx, bot.Address{Platform: Name, Channel: line.ID})
}
