package slack

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// privateRef is the id of a message that only one person saw. The platform lets
// nobody change such a message later.
const privateRef = "private"

// Send makes one try. It follows bot.Adapter; an error that leaves open whether
// the message arrived has a method MaybeSent, since the platform knows no keys.
func (a *Adapter) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	if err := ctx.Err(); err != nil {
		return bot.MessageRef{}, fmt.Errorf("send: %w", err)
	}
	api, err := a.api(o.To.Workspace)
	if err != nil {
		return bot.MessageRef{}, err
	}
	ref, err := a.send(ctx, api, o)
	a.mu.Lock()
	defer a.mu.Unlock()
	if err == nil || errors.Is(err, bot.ErrBarred) {
		a.barred = err != nil
	}
	return ref, err
}

func (a *Adapter) send(ctx context.Context, api *slack.Client, o bot.Outgoing) (bot.MessageRef, error) {
	if o.To.Person == "" && a.isShared(o.To) {
		return bot.MessageRef{}, because{"people of other organisations read along in the channel, so I post nothing there: stop sharing it, or take it out of the file", bot.ErrNotFound}
	}
	s := sending{Adapter: a, api: api, to: o.To, reply: o.Reply, answers: o.Answers}
	if o.To.Channel == bot.HomeChannel {
		return s.page(ctx)
	}
	s.options = s.content(ctx)
	switch {
	case o.Edit != nil && o.Edit.ID != "" && o.Edit.ID != privateRef:
		return s.change(ctx, *o.Edit)
	case o.To.Person != "" && o.To.Channel != "" && !direct(o.To.Channel):
		return s.privately(ctx)
	}
	return s.post(ctx)
}

// sending is one message on its way.
type sending struct {
	*Adapter
	api     *slack.Client
	to      bot.Address
	reply   bot.Reply
	answers string
	options []slack.MsgOption
}

// content is the message as text for screen readers, as blocks, and with
// nothing that calls people or unfolds links.
func (s sending) content(ctx context.Context) []slack.MsgOption {
	options := []slack.MsgOption{
		slack.MsgOptionText(twin(s.reply), false), slack.MsgOptionDisableLinkUnfurl(), slack.MsgOptionDisableMediaUnfurl(),
		slack.MsgOptionParse(false),
	}
	if all := blocks(s.reply, s.upload(ctx)); len(all) > 0 && len(all) <= maxBlocks {
		options = append(options, slack.MsgOptionBlocks(all...))
	}
	if s.to.Thread != "" {
		options = append(options, slack.MsgOptionTS(s.to.Thread))
	}
	return options
}

// twin is the message as text alone: screen readers read it in place of the
// blocks, so all that matters is there, the buttons' labels too.
func twin(r bot.Reply) string {
	text := r.Plain()
	if len(r.Buttons) > 0 {
		labels := make([]string, len(r.Buttons))
		for i, b := range r.Buttons {
			labels[i] = b.Label
		}
		text += "\nButtons: " + strings.Join(labels, ", ")
	}
	return escape(text)
}

func (s sending) post(ctx context.Context) (bot.MessageRef, error) {
	channel := s.to.Channel
	if channel == "" {
		channel = s.to.Person // the platform opens the person's own line
	}
	channel, ts, err := s.api.PostMessageContext(ctx, channel, s.options...)
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("post message: %w", s.translate(err, false))
	}
	at := s.to
	at.Channel = channel
	return bot.MessageRef{Address: at, ID: ts}, nil
}

func (s sending) change(ctx context.Context, ref bot.MessageRef) (bot.MessageRef, error) {
	_, _, _, err := s.api.UpdateMessageContext(ctx, ref.Address.Channel, ref.ID, s.options...)
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("change message: %w", s.translate(err, true))
	}
	return ref, nil
}

// privately shows a message to one person in the channel, or where that cannot
// be, by the handle of what they did, or else in their own line.
func (s sending) privately(ctx context.Context) (bot.MessageRef, error) {
	_, err := s.api.PostEphemeralContext(ctx, s.to.Channel, s.to.Person, s.options...)
	err = s.translate(err, false)
	if err == nil {
		return bot.MessageRef{Address: s.to, ID: privateRef}, nil
	}
	if !errors.Is(err, bot.ErrNotFound) {
		return bot.MessageRef{}, fmt.Errorf("post to one person: %w", err)
	}
	if url, ok := s.handles.use(s.answers); ok && s.byHandle(ctx, url) == nil {
		return bot.MessageRef{Address: s.to, ID: privateRef}, nil
	}
	s.to.Channel, s.to.Thread = "", ""
	s.options = s.content(ctx)
	return s.post(ctx)
}

// byHandle answers by the secret address that came with a press or a command.
// Only the platform's own host is called.
func (s sending) byHandle(ctx context.Context, url string) error {
	if bot.CheckServer(url, "https", "http") != nil {
		return errors.New("reply handle is no safe address")
	}
	message := &slack.WebhookMessage{Text: twin(s.reply), ResponseType: slack.ResponseTypeEphemeral, Blocks: &slack.Blocks{BlockSet: blocks(s.reply, nil)}}
	if err := slack.PostWebhookCustomHTTPContext(ctx, url, s.client, message); err != nil {
		s.Adapter.options.Log.InfoContext(ctx, "reply handle not taken, answering in the person's own line")
		return errors.New("reply handle not taken") // the library's error holds the address
	}
	return nil
}

// page puts a reply on the person's page.
func (s sending) page(ctx context.Context) (bot.MessageRef, error) {
	response, err := s.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: s.to.Person, View: home(s.reply)})
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("publish page: %w", s.translate(err, true))
	}
	return bot.MessageRef{Address: s.to, ID: response.View.ID}, nil
}

// upload draws the pictures and gives the platform's file of each, empty where
// there is none. The words beside a picture say it all, so trouble is for the
// log only.
func (s sending) upload(ctx context.Context) []string {
	files := make([]string, len(s.reply.Pictures))
	if s.Adapter.options.Draw == nil {
		return files
	}
	place, ok := s.Adapter.options.Directory(s.to, s.to.Person)
	if !ok {
		return files
	}
	for i, p := range s.reply.Pictures {
		var err error
		if files[i], err = s.uploadOne(ctx, place.Department, p); err != nil {
			s.Adapter.options.Log.WarnContext(ctx, "picture not sent", "scene", p.Scene, "error", err)
		}
	}
	return files
}

func (s sending) uploadOne(ctx context.Context, department string, p bot.Picture) (string, error) {
	png, err := s.Adapter.options.Draw(department, p.Scene)
	if err != nil {
		return "", fmt.Errorf("draw: %w", err)
	}
	f, err := s.api.UploadFileContext(ctx, slack.UploadFileParameters{
		Reader: bytes.NewReader(png), FileSize: len(png), Filename: "drawing.png", Title: "Drawing", AltTxt: bot.Shorten(p.Alt, maxAlt/2),
	})
	if err != nil {
		return "", fmt.Errorf("upload: %w", s.translate(err, true))
	}
	return f.ID, nil
}
