package command

import (
	"context"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/knowledge"
	"kitbell/knowledge/drawing"
)

// cardScene begins the scene key of a card's drawing.
const cardScene = "card:"

// picture shows a card's drawing, with its words for those who cannot see it.
// That of a forbidden card stays away like its steps.
func (r *Request) picture(ctx context.Context, card *knowledge.Card) (Result, error) {
	scene, err := drawing.Parse(card.Drawing)
	if err != nil {
		return Result{}, fmt.Errorf("read drawing of %s: %w", card.ID, err)
	}
	reply, err := r.asServed(ctx, bot.Reply{Title: card.Title, Pictures: []bot.Picture{{Scene: cardScene + card.ID, Alt: scene.Alt()}}}, card.ID)
	return Answer(reply), err
}

// Draw makes the PNG of a scene key for a phone's width.
func (d *Desk) Draw(key string) ([]byte, error) {
	if strings.HasPrefix(key, doorScene) {
		scene, err := sceneOfKey(key)
		if err != nil {
			return nil, err
		}
		return scene.PNG(drawing.Options{})
	}
	if strings.HasPrefix(key, chartScene) {
		return drawChart(key)
	}
	if ref, ok := strings.CutPrefix(key, ownScene); ok {
		return d.drawOwn(ref)
	}
	id, ok := strings.CutPrefix(key, cardScene)
	if !ok {
		return nil, fmt.Errorf("scene %q: %w", key, bot.ErrNotFound)
	}
	card, ok := d.Cards.Card(id)
	if !ok {
		return nil, fmt.Errorf("card %q: %w", id, bot.ErrNotFound)
	}
	scene, err := drawing.Parse(card.Drawing)
	if err != nil {
		return nil, fmt.Errorf("read drawing of %s: %w", id, err)
	}
	return scene.PNG(drawing.Options{})
}
