package command

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// Memory is what a conversation remembers between two messages.
type Memory struct {
	understand.Memory
	Card     string     `json:"card,omitempty"`     // card of the last answer
	Question string     `json:"question,omitempty"` // question of the last answer
	OffKit   string     `json:"off_kit,omitempty"`  // what was said of other equipment, to be passed on
	Hearing  bool       `json:"hearing,omitempty"`  // the last answer was of the yearly request: a line is one of its lines
	Others   []string   `json:"others,omitempty"`   // cards shown or offered beside it
	Running  *Running   `json:"running,omitempty"`  // the door being worked on
	Photo    *sentPhoto `json:"photo,omitempty"`    // pictures that were sent and may be kept
}

// ridingKind is the journal's word for "I ride this rig until then".
const ridingKind = "riding"

type riding struct {
	Unit  string    `json:"unit"`
	Until time.Time `json:"until"`
}

// who finds the member, rig and platoon of the person an event comes from. What
// the platform says of the rig outranks what the person said, and that the
// file.
func who(ctx context.Context, r *Request) (Who, error) {
	from := r.Event.From
	member, known := r.Department.Member(from.Member)
	if !known {
		member, known = r.Department.MemberByAccount(r.Event.Where.Platform, from.ID)
	}
	w := Who{Person: r.Event.Where.Platform + ":" + from.ID, Unit: from.Unit, Platoon: from.Platoon}
	if !known {
		var err error
		if member, known, err = r.memberBehind(ctx, w.Person); err != nil || !known {
			return w, err
		}
	}
	member, err := r.crewNow(ctx, member)
	if err != nil {
		return w, err
	}
	w.Person, w.Member = member.ID, member
	if w.Platoon == "" {
		w.Platoon = member.Platoon
	}
	acting, err := r.acting(ctx)
	if err != nil {
		return w, err
	}
	w.Acting = department.ActingAt(acting, member.ID, r.Now)
	if w.Unit != "" {
		return w, nil
	}
	rides, err := r.Books.Entries(ctx, r.Department.Slug, ridingKind, member.ID, r.Now.AddDate(0, 0, -7))
	if err != nil {
		return w, fmt.Errorf("read who rides what: %w", err)
	}
	w.Unit = rigNow(rides, r.Now)
	if w.Unit == "" {
		w.Unit = member.Unit
	}
	return w, nil
}

// rigNow is the rig of the last riding entry, while it lasts.
func rigNow(rides []bot.Entry, now time.Time) string {
	if len(rides) == 0 {
		return ""
	}
	var last riding
	if err := json.Unmarshal(rides[len(rides)-1].Body, &last); err != nil || !now.Before(last.Until) {
		return ""
	}
	return last.Unit
}

// context is what the reader of words may know besides the words.
func (r *Request) context() understand.Context {
	return understand.Context{Unit: r.Who.Unit, Platoon: r.Who.Platoon, Station: r.station(), Memory: r.Memory.Memory}
}

// station is where the channel belongs, or else the speaker's rig.
func (r *Request) station() string {
	if c, ok := r.Department.ChannelAt(r.Event.Where); ok && c.Station != "" {
		return c.Station
	}
	if u, ok := r.Department.Unit(r.Who.Unit); ok {
		return u.Station
	}
	return ""
}

// member says whether the department has let this person in as more than a
// guest. A person whom the file does not know came through a channel that it
// lists, and counts as crew.
func (w Who) member() bool { return w.Member.ID == "" || w.Member.May(department.Crew) }
