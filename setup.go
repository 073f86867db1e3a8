package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/knowledge"
)

// runInit writes a commented department file to start from. It never writes
// over one that is there.
func runInit(_ context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("init", flag.ContinueOnError)
	if err := parse(flags, args, 1, s); err != nil {
		return err
	}
	dir := flags.Arg(0)
	name := filepath.Join(dir, department.FileName)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return &bot.UserError{Say: "I cannot make the folder " + dir + ". Choose another place.", Err: err}
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return &bot.UserError{Say: name + " is there already, and I leave it as it is."}
	case err != nil:
		return &bot.UserError{Say: "I cannot write " + name + ". Choose another place.", Err: err}
	}
	if _, err := f.Write(department.Start(filepath.Base(dir))); err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", name, err), f.Close())
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	fmt.Fprintf(s.out, "Wrote %s. Fill it in, then check it with: kitbell preflight -c %s\n", name, dir)
	return nil
}

// runPreflight checks everything about a department that can be checked
// without anybody seeing it: its file, its cards, its database, its platforms.
func runPreflight(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("preflight", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	all, err := openDesks(home.dir, s.out)
	if err != nil {
		return err
	}
	for _, o := range all {
		checkDepartment(o.desk.Department, s)
		if err := checkCards(o.cards.library, s); err != nil {
			return err
		}
	}
	place, err := home.database(environment())
	if err != nil {
		return err
	}
	return errors.Join(checkDatabase(ctx, place, all, s), checkPlatforms(ctx, all, s))
}

// checkPlatforms asks each chat platform that the files name whether the bot can
// work there. Nothing is shown to anybody.
func checkPlatforms(ctx context.Context, all []opened, s streams) error {
	keys := environment()
	connect := connection{
		secrets: keys, desks: newDesks(desksOf(all)...), clock: bot.SystemClock{}, log: slog.New(slog.DiscardHandler), count: func(string, string) {},
	}
	wrong := 0
	for _, o := range all {
		if len(platformsOf(desksOf(all))) == 0 {
			break // all of them work at the terminal
		}
		for _, why := range deaf(o.desk.Department) {
			wrong++
			fmt.Fprintf(s.out, "%s: %s.\n", o.desk.Department.Name, why)
		}
	}
	for _, name := range platformsOf(desksOf(all)) {
		p, err := connect.openPlatform(name)
		if err != nil {
			wrong++
			fmt.Fprintf(s.out, "%s: %s\n", name, err)
			continue
		}
		for _, f := range p.look(ctx) {
			if f.OK {
				fmt.Fprintf(s.out, "%s: %s: as it must be.\n", name, f.What)
				continue
			}
			wrong++
			fmt.Fprintf(s.out, "%s: %s: %s.\n", name, f.What, strings.TrimSuffix(f.Fix, "."))
		}
	}
	if wrong > 0 {
		return &bot.UserError{Say: fmt.Sprintf("%s to mend on the platforms, as said above.", counted(wrong, "thing"))}
	}
	return nil
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// checkDepartment says what the file holds and when its entries fall due.
func checkDepartment(d *department.Department, s streams) {
	fmt.Fprintf(s.out, "File: %s, %d stations, %d units, %d kits, %d members, %d entries. No mistakes.\n",
		d.Name, len(d.Stations), len(d.Units), len(d.Kits), len(d.Members), len(d.Entries))
	now := time.Now()
	tour := d.Rotation.TourAt(now)
	fmt.Fprintf(s.out, "Duty: %s platoon is on until %s.\n", tour.Platoon, tour.End.In(d.Zone).Format("Mon 2 Jan 15:04 MST"))
	for _, e := range d.Entries {
		fmt.Fprintf(s.out, "Entry %s: %s.\n", e.ID, e.Cron.Preview(now, e.Zone))
		for _, disturbed := range e.Cron.Disturbances(now, now.AddDate(1, 0, 0), e.Zone) {
			fmt.Fprintf(s.out, "  Watch out: %s\n", disturbed)
		}
	}
}

func checkCards(library *knowledge.Library, s streams) error {
	problems, err := knowledge.Lint(library)
	if err != nil {
		return fmt.Errorf("check cards: %w", err)
	}
	fmt.Fprintf(s.out, "Cards: %d.\n", len(library.All()))
	for _, p := range problems {
		fmt.Fprintf(s.out, "  %v\n", p)
	}
	if len(problems) > 0 {
		return &bot.UserError{Say: fmt.Sprintf("%d card problems. Mend them before you go on.", len(problems))}
	}
	return nil
}

// checkDatabase looks at the database, which need not be there yet, without
// writing to it, and verifies the chain of every department's audit.
func checkDatabase(ctx context.Context, place string, all []opened, s streams) error {
	there, err := store.Exists(ctx, place)
	if err != nil {
		return err
	}
	if !there {
		fmt.Fprintf(s.out, "Database: %s.\n", noneYet(place))
		for _, o := range all {
			sayAdoption(o.desk.Department, len(o.cards.library.All()), s)
		}
		return nil
	}
	db, err := store.OpenReader(ctx, place, store.Options{})
	if err != nil {
		return err
	}
	defer db.Close()
	fmt.Fprintln(s.out, "Database: readable, its schema is this program's.")
	for _, o := range all {
		d := o.desk.Department
		rows, err := db.VerifyAudit(ctx, d.Slug)
		if err != nil {
			return fmt.Errorf("audit of %s: %w", d.Name, err)
		}
		fmt.Fprintf(s.out, "Audit of %s: %d rows, chained without a break.\n", d.Name, rows)
		open, err := command.Unadopted(ctx, o.desk, db)
		if err != nil {
			return err
		}
		sayAdoption(d, len(open), s)
	}
	return nil
}

// noneYet says what will be made at a place.
func noneYet(place string) string {
	if store.IsPostgres(place) {
		return store.PlaceName(place) + " is empty; its tables are made at the first run"
	}
	return "none yet; " + place + " is made at the first run"
}

// sayAdoption says how many cards the department has not adopted, and whose
// word it takes.
func sayAdoption(d *department.Department, open int, s streams) {
	if open == 0 {
		return
	}
	var who []string
	for _, m := range d.Members {
		if m.May(department.Training) {
			who = append(who, m.Name)
		}
	}
	fmt.Fprintf(s.out, "Cards not adopted in %s: %d. Answers say so, and plans leave their techniques out.\n", d.Name, open)
	if len(who) == 0 {
		fmt.Fprintln(s.out, "  Nobody may adopt them: give the chief of training the role training in the file.")
		return
	}
	fmt.Fprintf(s.out, "  %s reads them and types: adopt all cards. Or one by one: adopt card slip-inward.\n", strings.Join(who, " or "))
}
