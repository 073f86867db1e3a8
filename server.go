package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// runServer connects to every platform that the departments' channels name and
// works until ctx ends.
func runServer(ctx context.Context, dir string, all []opened, address string, s streams) error {
	keys := &secrets{getenv: os.Getenv}
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{ReplaceAttr: keys.redact}))
	clock := bot.SystemClock{}
	m := newMetrics(clock)
	served := newDesks(desksOf(all)...)
	db, err := store.Open(ctx, filepath.Join(dir, databaseFile), store.Options{Log: log, Clock: clock})
	if err != nil {
		return err
	}
	defer db.Close()
	connect := connection{secrets: keys, desks: served, clock: clock, log: log, count: m.count,
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
	o := newOffice(served, db, clock, log, adapters...)
	o.watch = newFolderWatch(o, dir, all, loop.Wake)
	o.observe(m)
	o.lanes = true
	if address != "off" {
		o.beside = append(o.beside, func(ctx context.Context) error { return web{o, platforms, m}.serve(ctx, address) })
	}
	o.beside = append(o.beside, o.reloadOnHangUp)
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
	if strings.HasPrefix(key, "notice/"+item.Department+"/"+lostPrefix) || outcome.State == deliver.PossiblySent {
		return
	}
	desk, ok := o.desks.desk(item.Department)
	if !ok {
		return
	}
	reply := bot.Reply{
		Title:  "A message of mine did not arrive",
		Text:   "I do not try it again. Mend this, and later ones arrive.",
		Fields: []bot.Field{{Name: "Where", Value: placeWords(item.Message.To)}, {Name: "Why", Value: outcome.Reason}},
	}
	turn := o.notice(desk.Department, fmt.Sprintf("%s-%s", lostPrefix, item.Message.To.Lane()), reply)
	if err := o.db.Apply(ctx, turn); err != nil {
		o.log.ErrorContext(ctx, "lead not told of a lost message", "department", item.Department, "error", err)
	}
}

func placeWords(to bot.Address) string {
	if to.Channel == "" {
		return "a person's own line on " + to.Platform
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
