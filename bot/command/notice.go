package command

import (
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
)

// Notice is a turn that tells the lead of a department something that nobody
// asked for: one post to the programme's channel, on each of its platforms. key
// names it in the outbox: the same key is posted once. split cuts a message as
// the router's does.
func Notice(d *department.Department, key string, at time.Time, reply bot.Reply, split func(bot.Outgoing) []bot.Outgoing) bot.Turn {
	turn := bot.Turn{Department: d.Slug, Actor: "program", At: at}
	for i, to := range channels(d, Place{Use: department.ProgrammeChannel}) {
		turn.Posts = append(turn.Posts, split(bot.Outgoing{Key: fmt.Sprintf("notice/%s/%s/%d", d.Slug, key, i), To: to, Reply: reply})...)
	}
	return turn
}
