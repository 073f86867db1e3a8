package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// lookEvery is how often the departments' folders are looked at. A change is
// read at the second look that finds it the same, so that what is half saved is
// left alone.
const lookEvery = 3 * time.Second

// folderWatch takes up what changes in the departments' folders while the bot
// runs, each folder by itself. A message sees the state before or after, never
// between; what cannot be read is refused with its file and line, and what
// served goes on serving.
type folderWatch struct {
	office  *office
	dir     string
	folders []*watchedFolder
	swapped func() // called after each swap; entries may fall due at other times now

	fit   func(*department.Department) // makes a department fit for where the bot works; nil for as it is
	needs []string                     // what the platforms' adapters were made for at the start; nil in a terminal

	mu sync.Mutex // one look at a time
}

// watchedFolder is one department's folder and what of it is in use.
type watchedFolder struct {
	path    string
	slug    string // "" until it has served
	cards   *shelf
	read    string // mark of the files as last read
	seen    string // mark at the last look
	refused string // what could not be used of them, "" for nothing
}

// newFolderWatch watches the folder that the desks of an office came from.
func newFolderWatch(o *office, dir string, all []opened, swapped func()) *folderWatch {
	w := &folderWatch{office: o, dir: dir, swapped: swapped}
	for _, one := range all {
		w.folders = append(w.folders, &watchedFolder{
			path: one.folder, slug: one.desk.Department.Slug, cards: one.cards, read: one.mark, seen: one.mark,
		})
	}
	return w
}

// run looks at the folders until ctx ends.
func (w *folderWatch) run(ctx context.Context) error {
	for {
		if err := w.office.clock.Wait(ctx, w.office.clock.Now().Add(lookEvery)); err != nil {
			return nil
		}
		w.look(ctx)
	}
}

// look takes up the folders whose change has settled.
func (w *folderWatch) look(ctx context.Context) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.addNew()
	for _, f := range w.folders {
		mark := markFiles(f.path)
		settled := mark == f.seen
		f.seen = mark
		if settled && mark != f.read {
			f.read = mark
			w.takeUp(ctx, f)
		}
	}
}

// takeUpNow takes up every folder that changed, without waiting until the change
// has settled: somebody says that it has.
func (w *folderWatch) takeUpNow(ctx context.Context) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.addNew()
	for _, f := range w.folders {
		f.seen = markFiles(f.path)
		if f.seen != f.read {
			f.read = f.seen
			w.takeUp(ctx, f)
		}
	}
}

// addNew watches the departments whose folders came since the last look.
func (w *folderWatch) addNew() {
	paths, err := departmentFolders(w.dir)
	if err != nil {
		return // a file that is gone shows in the mark of its folder
	}
	for _, path := range paths {
		if !slices.ContainsFunc(w.folders, func(f *watchedFolder) bool { return f.path == path }) {
			w.folders = append(w.folders, &watchedFolder{path: path})
		}
	}
}

// takeUp reloads a folder and says what came of it: in the log, and to the lead
// where something was refused, once for the same mistakes.
func (w *folderWatch) takeUp(ctx context.Context, f *watchedFolder) {
	reasons := w.reload(ctx, f)
	before := f.refused
	f.refused = strings.Join(reasons, "\n")
	log := w.office.log.With("department", f.slug, "folder", f.path)
	switch {
	case f.refused == "" && before != "":
		log.InfoContext(ctx, "files mended and taken up")
	case f.refused == "":
		log.InfoContext(ctx, "files taken up")
	default:
		log.ErrorContext(ctx, "files refused, what served goes on serving", "mistakes", f.refused)
		if f.refused != before {
			w.tellLead(ctx, f, reasons)
		}
	}
}

// reload loads a folder, checks it and swaps in what can be used. It gives what
// was refused.
func (w *folderWatch) reload(ctx context.Context, f *watchedFolder) []string {
	var warnings strings.Builder
	fresh, refused, err := openDesk(f.path, f.cards, &warnings)
	if err == nil {
		err = w.checkSlug(f, fresh.desk.Department.Slug)
	}
	if err != nil {
		return reasonsOf(err, f.path)
	}
	if warnings.Len() > 0 {
		w.office.log.Warn(strings.TrimSpace(warnings.String()), "folder", f.path)
	}
	if w.fit != nil {
		w.fit(fresh.desk.Department)
	}
	fresh.desk.Cards.Search("") // makes the index, while the old one still answers
	w.office.desks.replace(fresh.desk)
	f.slug, f.cards = fresh.desk.Department.Slug, fresh.cards
	w.swapped()
	refused = append(refused, w.afterStart()...)
	if _, err := w.office.postStanding(ctx); err != nil { // a station may have come; in quiet hours the next start brings it
		w.office.log.ErrorContext(ctx, "standing buttons not posted", "error", err)
	}
	return refused
}

// afterStart says what the files name now that works only after a new start.
func (w *folderWatch) afterStart() []string {
	if w.needs == nil {
		return nil
	}
	var all []string
	for _, need := range needsOf(w.office.desks.all()) {
		if !slices.Contains(w.needs, need) {
			all = append(all, need+" is new: start me again for it")
		}
	}
	return all
}

// checkSlug refuses a slug that changed, since everything is stored under it,
// and one that another folder has.
func (w *folderWatch) checkSlug(f *watchedFolder, slug string) error {
	if f.slug != "" && f.slug != slug {
		return &bot.UserError{Say: fmt.Sprintf("%s: the slug was %s and never changes. All that is kept is kept under it.", department.FileName, f.slug)}
	}
	if slices.ContainsFunc(w.folders, func(other *watchedFolder) bool { return other != f && other.slug == slug }) {
		return &bot.UserError{Say: fmt.Sprintf("%s: another department has the slug %s. Each needs its own.", department.FileName, slug)}
	}
	return nil
}

// mostReasons is how many mistakes the lead's post names; the log has them all.
const mostReasons = 8

// tellLead posts what was refused to the department's own programme channel.
// That the post cannot be stored is logged: it must not end the bot.
func (w *folderWatch) tellLead(ctx context.Context, f *watchedFolder, reasons []string) {
	desk, ok := w.office.desks.desk(f.slug)
	if !ok || !w.office.roles.speaks() {
		return // it has never served, so nobody is there to tell, or another process tells it
	}
	if more := len(reasons) - mostReasons; more > 0 {
		reasons = append(reasons[:mostReasons:mostReasons], fmt.Sprintf("and %d more: kitbell preflight shows them", more))
	}
	now := w.office.clock.Now()
	turn := command.Notice(desk.Department, fmt.Sprintf("refused-%d", now.UnixNano()), now, bot.Reply{
		Title:  "Your files changed, and I cannot use all of it",
		Text:   "What I knew before goes on serving. Mend this, and I take it up by myself.",
		Fields: []bot.Field{{Name: "To mend", Value: "\n- " + strings.Join(reasons, "\n- ")}},
	}, w.office.split)
	if err := w.office.db.Apply(ctx, turn); err != nil {
		w.office.log.ErrorContext(ctx, "lead not told of refused files", "department", f.slug, "error", err)
	}
}

// reasonsOf gives the mistakes of an error, one a line, fit for a channel: the
// lines of the file itself, which may name people and accounts, stay out, and so
// does where the folder is.
func reasonsOf(err error, folder string) []string {
	text := err.Error()
	if forPerson := (*bot.UserError)(nil); errors.As(err, &forPerson) {
		text = forPerson.Say
	}
	text = strings.ReplaceAll(text, folder, filepath.Base(folder))
	var reasons []string
	for line := range strings.Lines(text) {
		excerpt := strings.HasPrefix(line, "  ")
		heading := strings.HasSuffix(line, ":\n") && strings.HasPrefix(line, "The department file")
		if line = strings.TrimSpace(line); line != "" && !excerpt && !heading && !strings.Contains(line, ": warning: ") {
			reasons = append(reasons, line)
		}
	}
	return reasons
}

// markFiles names the state of the files that a department is read from, by
// their names, sizes and times of change. The database, which changes with every
// message, is not among them.
func markFiles(folder string) string {
	var mark strings.Builder
	dir := os.DirFS(folder)
	for _, name := range []string{department.FileName, ownAssumptions, ownCards} {
		_ = fs.WalkDir(dir, name, func(path string, _ fs.DirEntry, err error) error { // what fails is part of the mark
			info, statErr := fs.Stat(dir, path)
			if err = errors.Join(err, statErr); err != nil {
				fmt.Fprintln(&mark, path, err)
				return nil
			}
			fmt.Fprintln(&mark, path, info.Size(), info.ModTime().UnixNano())
			return nil
		})
	}
	return mark.String()
}
