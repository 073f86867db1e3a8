package main

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// standingEvery is how often it is looked whether quiet hours are over.
const standingEvery = 15 * time.Minute

// stand puts the DOOR button where it belongs, in quiet hours only after them,
// and returns when every department has it.
func (o *office) stand(ctx context.Context) error {
	for {
		waiting, err := o.postStanding(ctx)
		if err != nil || !waiting {
			return err
		}
		if err := o.clock.Wait(ctx, o.clock.Now().Add(standingEvery)); err != nil {
			return nil
		}
	}
}

// postStanding puts the DOOR button into every station's channel, once: it stays
// there to be pinned, so that a door begins with one tap and no typing. The key
// names the channel, so a later start posts nothing. waiting says that a
// department has quiet hours now.
func (o *office) postStanding(ctx context.Context) (waiting bool, err error) {
	for _, desk := range o.desks.all() {
		d, now := desk.Department, o.clock.Now()
		if d.Hours.Quiet.Holds(now, d.Zone) {
			waiting = true
			continue
		}
		turn := bot.Turn{Department: d.Slug, Actor: "start", At: now}
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
			return waiting, fmt.Errorf("post standing button: %w", err)
		}
	}
	return waiting, nil
}
