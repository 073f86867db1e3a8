package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/knowledge"
	"kitbell/schedule"
)

// runRun works for departments, on their database, by the machine's clock: on
// the chat platforms that their channels name, or in the terminal.
func runRun(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("run", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	plain := flags.Bool("plain", false, "for screen readers: no colour, one button a line")
	as := flags.String("as", "", "id or name of who speaks first (the lead)")
	here := flags.Bool("terminal", false, "work in this terminal, whatever platforms the file names")
	address := flags.String("http", defaultHTTP, "address for health, metrics and what platforms call, or off")
	upkeep := upkeepFlags(flags)
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	all, err := openDesks(home.dir, s.err)
	if err != nil {
		return err
	}
	keys := environment()
	place, err := home.database(keys)
	if err != nil {
		return err
	}
	if !*here && len(platformsOf(desksOf(all))) > 0 {
		return runServer(ctx, home.dir, place, keys, all, *address, upkeep, s)
	}
	d := all[0].desk.Department
	first, err := speakerOf(d, *as)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{ReplaceAttr: keys.redact}))
	clock := bot.SystemClock{}
	db, err := store.Open(ctx, place, store.Options{Log: log, Clock: clock})
	if err != nil {
		return err
	}
	defer db.Close()
	loop := schedule.NewLoop(clock, log)
	t := terminal{office: newOffice(newDesks(desksOf(all)...), db, clock, log), department: d, streams: s, plain: *plain}
	t.office.watch = newFolderWatch(t.office, home.dir, all, loop.Wake)
	if err := upkeep.join(t.office, place, nil); err != nil {
		return err
	}
	return t.talk(ctx, first, []string{
		"This is the kit desk of " + d.Name + ". What you report is kept.",
		"Try: queue  |  duty  |  a question about a tool or a door",
		"Speak as somebody else with :as NAME, see more with help, leave with :quit.",
	}, loop)
}

// openDesks loads every department of a folder, each with its own cards: the
// one in dir itself, or one in each folder below. Warnings go to w. What is
// wrong with any of them is in the error.
func openDesks(dir string, w io.Writer) ([]opened, error) {
	if dir == "" {
		return nil, usagef("name the department's folder with -c DIR")
	}
	folders, err := departmentFolders(dir)
	if err != nil {
		return nil, err
	}
	var all []opened
	for _, folder := range folders {
		one, _, err := openDesk(folder, nil, w)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(all, func(other opened) bool { return other.desk.Department.Slug == one.desk.Department.Slug }) {
			return nil, &bot.UserError{Say: "Two departments below " + dir + " have the slug " + one.desk.Department.Slug + ". Each needs its own."}
		}
		all = append(all, one)
	}
	return all, nil
}

// departmentFolders finds the folders with a department file: dir itself, or
// those in it.
func departmentFolders(dir string) ([]string, error) {
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return nil, &bot.UserError{Say: "There is no folder " + dir + ". Make one with: kitbell init " + dir, Err: err}
	}
	if _, err := os.Stat(filepath.Join(dir, department.FileName)); err == nil {
		return []string{dir}, nil
	}
	below, err := filepath.Glob(filepath.Join(dir, "*", department.FileName))
	if err != nil || len(below) == 0 {
		return nil, &bot.UserError{Say: "There is no " + department.FileName + " in " + dir + ". Make one with: kitbell init " + dir, Err: err}
	}
	for i := range below {
		below[i] = filepath.Dir(below[i])
	}
	return below, nil
}

// openDesk loads the department of a folder. previous is the shelf that serves
// it until now; without one a card that cannot be read is an error.
func openDesk(folder string, previous *shelf, w io.Writer) (one opened, refused []string, err error) {
	mark := markFiles(folder) // before they are read: what changes meanwhile is read again
	cards, refused, err := openShelf(os.DirFS(folder), previous)
	if err != nil {
		return opened{}, nil, err
	}
	d, problems := loaderFor(cards.library).Load(os.DirFS(folder), department.FileName)
	if problems.Err() != nil {
		return opened{}, nil, &bot.UserError{Say: fmt.Sprintf("The department file in %s has mistakes:\n%s", folder, problems)}
	}
	if len(problems) > 0 {
		fmt.Fprintln(w, problems)
	}
	desk, err := newDesk(d, cards)
	return opened{desk, cards, folder, mark}, refused, err
}

// openCopies loads the departments of a folder, with a copy of their database as it
// stands now: what is printed from it holds nobody up. The caller closes it.
func openCopies(ctx context.Context, h *home, s streams) ([]opened, *store.DB, error) {
	all, err := openDesks(h.dir, s.err)
	if err != nil {
		return nil, nil, err
	}
	db, err := h.openCopy(ctx, store.Options{})
	return all, db, err
}

// loaderFor reads department files that name these cards.
func loaderFor(library *knowledge.Library) department.Loader {
	l := department.Loader{Platforms: knownPlatforms()}
	for _, c := range library.All() {
		l.Topics = append(l.Topics, c.ID)
		switch c.Kind {
		case knowledge.Tool:
			l.Items = append(l.Items, c.ID)
		case knowledge.Technique:
			l.Techniques = append(l.Techniques, c.ID)
		case knowledge.Drill:
			l.Drills = append(l.Drills, c.ID)
		}
	}
	return l
}

// speakerOf finds the member to speak as, by id or name; without one, the lead.
func speakerOf(d *department.Department, name string) (department.Member, error) {
	if name != "" {
		return memberCalled(d, name)
	}
	if leads := d.MembersWith(department.Lead); len(leads) > 0 {
		return leads[0], nil
	}
	if len(d.Members) == 0 {
		return department.Member{}, &bot.UserError{Say: "The department file names no members. Add at least one."}
	}
	return d.Members[0], nil
}
