package main

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// postStanding puts the DOOR button into every station's channel, once: it stays
// there to be pinned, so that a door begins with one tap and no typing. The key
// names the channel, so a later start posts nothing.
func (o *office) postStanding(ctx context.Context) error {
	for _, desk := range o.desks.all() {
		d := desk.Department
		turn := bot.Turn{Department: d.Slug, Actor: "start", At: o.clock.Now()}
		for _, c := range d.Channels {
			if c.Use != department.StationChannel {
				continue
			}
			reply := bot.Reply{
				Text:    "At a locked door, tap DOOR. Two more taps give the first thing to try. Pin this message.",
				Buttons: []bot.Button{command.StandingButton()},
			}
			turn.Posts = append(turn.Posts, bot.Outgoing{Key: fmt.Sprintf("standing/%s/%s/%s", c.Platform, c.Workspace, c.ID), To: c.Address(), Reply: reply})
		}
		if err := o.db.Apply(ctx, turn); err != nil {
			return fmt.Errorf("post standing button: %w", err)
		}
	}
	return nil
}
