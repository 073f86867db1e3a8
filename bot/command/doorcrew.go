package command

import (
	"context"
	"encoding/json"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/door"
)

// A crew's running door is kept as a conversation of its own, named by rig and
// tour, so that a second member at the same door joins the plan instead of
// beginning one. It expires like every conversation. It is written after the
// turn and not in its transaction: what is lost when the program ends in between
// is a convenience.

// crewKey names the conversation of the speaker's crew, "" without a rig.
func (r *Request) crewKey() string {
	if r.Who.Unit == "" {
		return ""
	}
	return "crew/" + r.Who.Unit + "/" + tourKey(r.Department.Rotation.TourAt(r.Now))
}

// crewDoor is the door that the speaker's crew works on, nil for none.
func (ro *Router) crewDoor(ctx context.Context, r *Request) (*Running, error) {
	key := r.crewKey()
	if key == "" {
		return nil, nil
	}
	talk, ok, err := ro.Ledger.Talk(ctx, r.Department.Slug, key, r.Now)
	if err != nil || !ok {
		return nil, err
	}
	var running Running
	if err := json.Unmarshal(talk.State, &running); err != nil {
		ro.Log.Warn("crew's door unreadable, passed over", "key", key, "error", err)
		return nil, nil
	}
	return &running, nil
}

// shareDoor keeps what a command remembered of a door for the whole crew.
func (ro *Router) shareDoor(ctx context.Context, r *Request) error {
	key := r.crewKey()
	if r.share == nil || key == "" {
		return nil
	}
	state, err := json.Marshal(r.share)
	if err != nil {
		return fmt.Errorf("encode door: %w", err)
	}
	talk := &bot.Talk{Department: r.Department.Slug, Key: key, State: state, Expires: r.Now.Add(TalkLasts)}
	return ro.Ledger.Apply(ctx, bot.Turn{Department: r.Department.Slug, Actor: r.Who.Person, At: r.Now, Talk: talk})
}

// joinCrew takes up what the rest of the crew did at the door. Somebody without
// a door of their own joins the crew's, unless what they say is of another one.
func (r *Request) joinCrew() error {
	theirs, err := r.crew()
	if err != nil {
		return fmt.Errorf("read crew's door: %w", err)
	}
	own := r.Memory.Running
	switch {
	case theirs == nil:
	case own != nil && own.Event == theirs.Event && theirs.Closed:
		r.Memory.Running, r.Memory.Door = nil, nil
	case own != nil && own.Event == theirs.Event:
		theirs.Shown = own.Shown
		r.Memory.Running = theirs
	case own == nil && !theirs.Closed && theirs.By != r.Who.Person && len(door.Changed(theirs.Facts.Facts, r.said())) == 0:
		theirs.Shown = ""
		r.Memory.Running, r.joined = theirs, true
	}
	return nil
}
