package command

import (
	"fmt"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
)

// Notice is a turn that tells the lead of a department something that nobody
// asked for: one post to the programme's channel, on each of its platforms, or
// where there is none to the leads' own lines. key names it in the outbox: the same key is posted once. split cuts a message as
// the router's does.
func Notice(d *department.Department, key string, at time.Time, reply bot.Reply, split func(bot.Outgoing) []bot.Outgoing) bot.Turn {
	to := channels(d, Place{Use: department.ProgrammeChannel})
	if len(to) == 0 {
		to = leadsLines(d, "")
	}
	return noticeAt(d, key, at, reply, split, to)
}

// NoticeBeside is a Notice about a platform that is down: it goes to the
// programme's channels on the others, or where there are none to the leads' own
// lines there. Where a department has no other platform it waits for this one.
func NoticeBeside(d *department.Department, platform, key string, at time.Time, reply bot.Reply, split func(bot.Outgoing) []bot.Outgoing) bot.Turn {
	all := channels(d, Place{Use: department.ProgrammeChannel})
	beside := slices.DeleteFunc(slices.Clone(all), func(a bot.Address) bool { return a.Platform == platform })
	if len(beside) == 0 {
		beside = leadsLines(d, platform)
	}
	if len(beside) == 0 {
		beside = all
	}
	return noticeAt(d, key, at, reply, split, beside)
}

// leadsLines are the own lines of the leads on the platforms but one.
func leadsLines(d *department.Department, but string) []bot.Address {
	var lines []bot.Address
	for _, lead := range d.MembersWith(department.Lead) {
		for _, c := range d.Channels {
			line := bot.Address{Platform: c.Platform, Workspace: c.Workspace, Person: lead.Accounts[c.Platform]}
			if c.Platform != but && line.Person != "" && !slices.Contains(lines, line) {
				lines = append(lines, line)
			}
		}
	}
	return lines
}

func noticeAt(d *department.Department, key string, at time.Time, reply bot.Reply, split func(bot.Outgoing) []bot.Outgoing, where []bot.Address) bot.Turn {
	turn := bot.Turn{Department: d.Slug, Actor: "program", At: at}
	for i, to := range where {
		turn.Posts = append(turn.Posts, split(bot.Outgoing{Key: fmt.Sprintf("notice/%s/%s/%d", d.Slug, key, i), To: to, Reply: reply})...)
	}
	return turn
}
