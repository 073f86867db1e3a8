package main

import (
	"context"
	"fmt"
	"hash/crc32"
	"log/slog"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"kitbell/adapters/discord"
	"kitbell/adapters/slack"
	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// runServer connects to every platform that the departments' channels name and
// works until ctx ends.
func runServer(ctx context.Context, dir, place string, keys *secrets, all []opened, address string, u *upkeep, s streams) error {
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{ReplaceAttr: keys.redact}))
	clock := bot.SystemClock{}
	m := newMetrics(clock)
	for _, one := range all {
		for _, why := range deaf(one.desk.Department) {
			log.Warn(why, "department", one.desk.Department.Slug)
		}
		onlyChat(one.desk.Department)
	}
	served := newDesks(desksOf(all)...)
	shared := store.IsPostgres(place)
	db, err := store.Open(ctx, place, store.Options{Log: log, Clock: clock, Shared: shared})
	if err != nil {
		return err
	}
	defer db.Close()
	since, err := db.LastReceived(ctx)
	if err != nil {
		return err
	}
	if earliest := clock.Now().Add(-mostMissed); !since.IsZero() && since.Before(earliest) {
		since = earliest
	}
	var o *office
	connect := connection{secrets: keys, desks: served, clock: clock, log: log, count: m.count,
		since:    since,
		lost:     func(ctx context.Context, at bot.Address, why string) { o.tellOfPlace(ctx, at, why) },
		prompter: &command.Prompts{Place: served.place, Desks: served.desk, Books: db, Clock: clock}}
	var platforms []platform
	var adapters []bot.Adapter
	for _, name := range platformsOf(desksOf(all)) {
		p, err := connect.openPlatform(name)
		if err != nil {
			return err
		}
		platforms, adapters = append(platforms, p), append(adapters, p.chat)
	}
	m.watch(db)
	loop := schedule.NewLoop(clock, log)
	o = newOffice(served, db, clock, log, adapters...)
	o.watch = newFolderWatch(o, dir, all, loop.Wake)
	o.watch.fit, o.watch.needs = onlyChat, needsOf(desksOf(all))
	o.observe(m)
	o.lanes = true
	if shared {
		defer o.share(newSharing(db, clock, log, m), m)()
	}
	if address != "off" {
		o.beside = append(o.beside, func(ctx context.Context) error { return web{o, platforms, m}.serve(ctx, address) })
	}
	o.beside = append(o.beside, o.reloadOnHangUp)
	if err := u.join(o, place, m.backedUp); err != nil {
		return err
	}
	defer log.Info("stopped")
	o.beside = append(o.beside, func(ctx context.Context) error {
		<-ctx.Done()
		log.Info("stopping: what is being sent is finished first")
		return nil
	})
	fmt.Fprintf(s.out, "At work for %s on %s. Stop with Ctrl-C; kill -HUP reads the files again at once.\n", departmentNames(all), strings.Join(platformsOf(desksOf(all)), " and "))
	return o.serve(ctx, loop)
}

func departmentNames(all []opened) string {
	var names []string
	for _, one := range all {
		names = append(names, one.desk.Department.Name)
	}
	return strings.Join(names, ", ")
}

// mostMissed is how far back a new start fetches what was said meanwhile: what is
// older, the crew has said again.
const mostMissed = 24 * time.Hour

// needsOf names what adapters are made for at the start and cannot take up later.
func needsOf(all []*command.Desk) []string {
	var needs []string
	for _, name := range platformsOf(all) {
		needs = append(needs, "a channel on "+upperFirst(name))
		if name == discord.Name && listens(all, name) {
			needs = append(needs, "a channel on Discord that is listened to")
		}
		if name == slack.Name {
			for _, id := range workspacesOf(all, name) {
				needs = append(needs, "the Slack workspace "+id)
			}
		}
	}
	return needs
}

// observe lets metrics hear of what the office does.
func (o *office) observe(m *metrics) {
	o.handled, o.gaveUp = m.handled, func(ctx context.Context, item deliver.Item, outcome deliver.Outcome) {
		m.givenUp(item, outcome)
		o.tellOfLoss(ctx, item, outcome)
	}
}

// lostPrefix begins the key of a notice about a message that did not arrive, so
// that a notice which does not arrive either makes no further one.
const lostPrefix = "lost"

// tellOfLoss tells a department's lead of a message that will not be tried
// again, with why and never with its words.
func (o *office) tellOfLoss(ctx context.Context, item deliver.Item, outcome deliver.Outcome) {
	key := item.Message.Key
	if strings.HasPrefix(key, "notice/"+item.Department+"/"+lostPrefix) {
		return
	}
	desk, ok := o.desks.desk(item.Department)
	if !ok {
		return
	}
	reply := bot.Reply{Title: "A message of mine did not arrive", Text: "I do not try it again. Mend this, and later ones arrive."}
	if outcome.State == deliver.PossiblySent {
		reply = bot.Reply{Title: "A message of mine may not have arrived", Text: "The line broke while I sent it. I do not send it twice: look whether it is there."}
	}
	reply.Fields = []bot.Field{{Name: "Where", Value: placeWords(desk.Department, item.Message.To)}, {Name: "Why", Value: outcome.Reason}}
	turn := o.notice(desk.Department, fmt.Sprintf("%s-%s-%08x", lostPrefix, item.Message.To.Lane(), crc32.ChecksumIEEE([]byte(outcome.Reason))), reply)
	if err := o.db.Apply(ctx, turn); err != nil {
		o.log.ErrorContext(ctx, "lead not told of a lost message", "department", item.Department, "error", err)
	}
}

func placeWords(d *department.Department, to bot.Address) string {
	c, listed := d.ChannelAt(to)
	station, _ := d.Station(c.Station)
	switch {
	case to.Channel == "":
		return "a person's own line on " + to.Platform
	case listed && station.Name != "":
		return "the channel of " + station.Name + " on " + to.Platform
	case listed:
		return "the channel for " + string(c.Use) + " on " + to.Platform
	}
	return "channel " + to.Channel + " on " + to.Platform
}

// reloadOnHangUp reads the departments' files whenever the process gets a
// hang-up signal.
func (o *office) reloadOnHangUp(ctx context.Context) error {
	hangUps := make(chan os.Signal, 1)
	signal.Notify(hangUps, syscall.SIGHUP)
	defer signal.Stop(hangUps)
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-hangUps:
			o.watch.takeUpNow(ctx)
			o.log.InfoContext(ctx, "files read again, as asked")
		}
	}
}
