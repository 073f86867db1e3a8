package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// upkeep is what run is to do by itself, besides its work.
type upkeep struct {
	folder string // of backups; empty for none
	keep   keeping
	hour   string // of the day, for what can wait for a quiet one
}

// upkeepFlags adds the flags that say it.
func upkeepFlags(flags *flag.FlagSet) *upkeep {
	u := &upkeep{keep: keeping{7, 5, 12}}
	flags.StringVar(&u.folder, "backup", "", "folder for a backup each day")
	flags.Var(&u.keep, "backup-keep", "backups that stay: the last of so many days, weeks and months")
	flags.StringVar(&u.hour, "backup-at", "03:30", "quiet time of day for it, by the first department's zone")
	return u
}

// daily is the moment each day when upkeep is done.
func (u *upkeep) daily() (schedule.Cron, error) {
	at, err := time.Parse("15:04", u.hour)
	if err != nil {
		return schedule.Cron{}, usagef("--backup-at is a time of day like 03:30, not %q", u.hour)
	}
	return schedule.Parse(fmt.Sprintf("%d %d * * *", at.Minute(), at.Hour()))
}

// join adds the upkeep to what an office does beside its work. heard hears how each
// backup went; nil hears nothing.
func (u *upkeep) join(o *office, place string, heard func(made bool, at time.Time)) error {
	daily, err := u.daily()
	if err != nil {
		return err
	}
	o.beside = append(o.beside, (&retainer{office: o, daily: daily}).run)
	if u.folder == "" {
		return nil
	}
	if heard == nil {
		heard = func(bool, time.Time) {}
	}
	b := &backups{office: o, place: place, folder: u.folder, keep: u.keep, daily: daily, heard: heard}
	o.beside = append(o.beside, b.run)
	return nil
}

// afterFailure is the pause before a backup that failed is tried again.
const afterFailure = time.Hour

// lastBackup names the setting with the moment of the last scheduled backup.
const lastBackup = "last-backup"

// backups makes a backup a day and removes old ones. What it needs to know over a
// restart is in the folder: the first of a new folder, and one that was missed, are
// made at once.
type backups struct {
	office        *office
	place, folder string
	keep          keeping
	daily         schedule.Cron
	heard         func(made bool, at time.Time)
}

// run makes backups until ctx ends: one after the other, in this goroutine.
func (b *backups) run(ctx context.Context) error {
	for {
		now := b.office.clock.Now()
		next := b.next(now)
		if !next.After(now) {
			if next = now.Add(afterFailure); b.step(ctx) == nil {
				continue
			}
		}
		if b.office.clock.Wait(ctx, next) != nil {
			return nil
		}
	}
}

// next is when a backup is due: at the quiet hour after the last one.
func (b *backups) next(now time.Time) time.Time {
	all, err := scheduledIn(b.folder)
	if err != nil {
		return now // trying it says what is wrong
	}
	for _, made := range all {
		if made.at.After(now) {
			continue // the clock was set back since
		}
		if m, ok := b.daily.Next(made.at, b.office.firstZone()); ok {
			return m.At
		}
	}
	return now
}

// step makes a backup, removes old ones, and says how that went: in the log, in the
// metrics, and to the leads once until the next one is made.
func (b *backups) step(ctx context.Context) error {
	now := b.office.clock.Now()
	var slugs []string
	for _, desk := range b.office.desks.all() {
		slugs = append(slugs, desk.Department.Slug)
	}
	slices.Sort(slugs)
	made, err := store.Save(ctx, b.place, b.folder, func([]string) string { return backupName(scheduledPrefix, now, slugs) }, store.Options{Log: b.office.log, Clock: b.office.clock})
	if ctx.Err() != nil {
		return ctx.Err()
	}
	defer func() { b.heard(err == nil, now) }()
	if err != nil {
		b.failed(ctx, err)
		return err
	}
	b.office.log.InfoContext(ctx, "backup made", "file", filepath.Base(made.Path), "sha256", made.Sum)
	if err := b.office.db.SetSetting(ctx, "", lastBackup, now.UTC().Format(time.RFC3339)); err != nil {
		b.office.log.ErrorContext(ctx, "backup not noted", "error", err)
	}
	b.rotate(ctx, ofWhom(slugs))
	return nil
}

// rotate removes the old backups of these departments.
func (b *backups) rotate(ctx context.Context, whom string) {
	gone, err := rotate(b.folder, whom, b.keep, b.office.firstZone())
	if err != nil {
		b.office.log.ErrorContext(ctx, "old backups not removed", "error", err)
		b.tell(ctx, "rotation-failed-"+b.office.clock.Now().UTC().Format("2006-01"), "I cannot remove old backups", "They fill the disk in time.", err)
	}
	if len(gone) > 0 {
		b.office.log.InfoContext(ctx, "old backups removed", "files", strings.Join(gone, " "))
	}
}

// failed says so in the log, and to the leads once since the last backup that was
// made.
func (b *backups) failed(ctx context.Context, err error) {
	b.office.log.ErrorContext(ctx, "backup not made, trying again", "pause", afterFailure, "error", err)
	last, _, _ := b.office.db.Setting(ctx, "", lastBackup) // none is as good as unreadable
	b.tell(ctx, "backup-failed-since-"+last, "I could not make the backup", "I try again each hour. Until it works, what is new since the last one is on one disk only.", err)
}

// tell tells every lead, once for a key.
func (b *backups) tell(ctx context.Context, key, title, text string, err error) {
	why := "The log says why."
	if forPerson := (*bot.UserError)(nil); errors.As(err, &forPerson) {
		why = strings.ReplaceAll(forPerson.Say, b.folder, filepath.Base(b.folder)) // where the machine keeps it is no news for a channel
	}
	for _, desk := range b.office.desks.all() {
		reply := bot.Reply{Title: title, Text: text, Fields: []bot.Field{{Name: "Why", Value: why}}}
		turn := command.Notice(desk.Department, key, b.office.clock.Now(), reply, b.office.split)
		if err := b.office.db.Apply(ctx, turn); err != nil {
			b.office.log.ErrorContext(ctx, "lead not told", "department", desk.Department.Slug, "error", err)
		}
	}
}

// firstZone is the zone of the first department: whose night it is.
func (o *office) firstZone() *time.Location {
	all := o.desks.all()
	if len(all) == 0 {
		return time.UTC
	}
	first := slices.MinFunc(all, func(a, b *command.Desk) int { return cmp.Compare(a.Department.Slug, b.Department.Slug) })
	return first.Department.Zone
}
