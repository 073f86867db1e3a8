package command

import (
	"bytes"
	"context"
	"fmt"
	"image"
	_ "image/jpeg" // pictures come from cameras
	"image/png"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/knowledge"
)

// refOwn is the ref of a button for a department's own picture: own:ID:N.
const refOwn = "own"

// ownScene begins the scene key of a department's own picture.
const ownScene = "own:"

// largestPicture is the most bytes that a picture of a department may have;
// largestSide the most points along a side, so that a small file cannot unfold
// into more than memory holds.
const (
	largestPicture = 16 << 20
	largestSide    = 8192
)

// withLinks names what lies elsewhere: addresses, and files that are no
// pictures.
func withLinks(reply bot.Reply, links []knowledge.Link) bot.Reply {
	var lines []string
	for _, link := range links {
		switch {
		case link.Online():
			lines = append(lines, link.Label+": "+link.Target)
		case !link.Picture():
			lines = append(lines, link.Label+": cards/"+link.Target+" in the department's folder")
		}
	}
	if len(lines) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Our own", Value: bullets(lines)})
	}
	return reply
}

// ownPictures are the buttons for a card's own pictures.
func ownPictures(c *knowledge.Card) []bot.Button {
	var buttons []bot.Button
	for i, link := range c.Links {
		if link.Picture() {
			buttons = append(buttons, bot.Button{Label: link.Label, Value: fmt.Sprintf("ask:%s:%s:%d", refOwn, c.ID, i)})
		}
	}
	return buttons
}

// ownLink finds the picture of a ref, ID:N.
func (d *Desk) ownLink(ref string) (*knowledge.Card, knowledge.Link, bool) {
	id, number, _ := strings.Cut(ref, ":")
	c, ok := d.Cards.Card(id)
	n, err := strconv.Atoi(number)
	if !ok || err != nil || n < 0 || n >= len(c.Links) || !c.Links[n].Picture() {
		return nil, knowledge.Link{}, false
	}
	return c, c.Links[n], true
}

func (r *Request) ownPicture(ctx context.Context, ref string) (Result, error) {
	c, link, ok := r.ownLink(ref)
	if !ok {
		return Result{}, bot.SayOldButton.With()
	}
	reply, err := r.asServed(ctx, bot.Reply{Title: c.Title, Pictures: []bot.Picture{{Scene: ownScene + ref, Alt: link.Label + ", a picture of the department's own."}}}, c.ID)
	return Answer(reply), err
}

// drawOwn makes a department's own picture a PNG, which leaves behind what a
// camera wrote beside it.
func (d *Desk) drawOwn(ref string) ([]byte, error) {
	_, link, ok := d.ownLink(ref)
	if !ok {
		return nil, fmt.Errorf("own picture %q: %w", ref, bot.ErrNotFound)
	}
	data, err := d.Cards.File(link, largestPicture)
	if err != nil {
		return nil, err
	}
	size, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("read picture %s: %w", link.Target, err)
	}
	if size.Width > largestSide || size.Height > largestSide {
		return nil, fmt.Errorf("read picture %s: more than %d points along a side", link.Target, largestSide)
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("read picture %s: %w", link.Target, err)
	}
	var out bytes.Buffer
	if err := png.Encode(&out, picture); err != nil {
		return nil, fmt.Errorf("write picture %s: %w", link.Target, err)
	}
	return out.Bytes(), nil
}
