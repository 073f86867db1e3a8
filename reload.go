package main

import (
	"context"
	"fmt"
	"hash/fnv"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
)

// reloadEvery is how often a department's folder is looked at for changes.
const reloadEvery = 5 * time.Second

// folderWatch takes up what changes in the departments' folders while the bot
// runs. A message sees the state before or after, never between; what cannot be
// read is refused with its file and line, and what served goes on serving.
type folderWatch struct {
	office *office
	dir    string
	loaded []opened
	seen   string // state of the files that loaded was read from
}

func newFolderWatch(o *office, dir string, loaded []opened) *folderWatch {
	return &folderWatch{office: o, dir: dir, loaded: loaded, seen: folderState(dir)}
}

// run looks at the folder until ctx ends.
func (w *folderWatch) run(ctx context.Context) error {
	for {
		if err := w.office.clock.Wait(ctx, w.office.clock.Now().Add(reloadEvery)); err != nil {
			return nil
		}
		if err := w.step(ctx); err != nil {
			return err
		}
	}
}

// step reloads when a file changed since the last look. The error is of the
// store; mistakes in files are told to the lead.
func (w *folderWatch) step(ctx context.Context) error {
	state := folderState(w.dir)
	if state == w.seen {
		return nil
	}
	w.seen = state
	refused := w.reload()
	if refused == "" {
		w.office.log.Info("department's files taken up", "folder", w.dir)
		return w.office.postStanding(ctx) // a station may have come
	}
	w.office.log.Error("department's files not taken up whole", "folder", w.dir, "mistakes", refused)
	return w.tellLead(ctx, state, refused)
}

// reload reads the folder and swaps what the bot knows. It gives what was
// refused, "" for nothing.
func (w *folderWatch) reload() string {
	var warnings strings.Builder
	all, refused, err := reopenDesks(w.dir, w.loaded, &warnings)
	if warnings.Len() > 0 {
		w.office.log.Warn(strings.TrimSpace(warnings.String()), "folder", w.dir)
	}
	if err != nil {
		return err.Error()
	}
	if gone := goneSlug(w.loaded, all); gone != "" {
		return "The department with the slug " + gone + " is gone from the folder. A slug never changes; start anew to serve without it."
	}
	for _, o := range all {
		o.desk.Cards.Search("") // makes the index, while the old one still answers
	}
	w.office.desks.swap(desksOf(all)...)
	w.loaded = all
	return strings.Join(refused, "\n")
}

// goneSlug is a department that was served and is no longer there.
func goneSlug(before, after []opened) string {
	for _, o := range before {
		slug := o.desk.Department.Slug
		if !slices.ContainsFunc(after, func(n opened) bool { return n.desk.Department.Slug == slug }) {
			return slug
		}
	}
	return ""
}

// tellLead posts what was refused to the programme's channel of every
// department of the folder, once for each state of the files.
func (w *folderWatch) tellLead(ctx context.Context, state, refused string) error {
	text := "I could not take up a change in the department's folder. What I knew before goes on serving.\n" + refused
	for _, o := range w.loaded {
		d := o.desk.Department
		turn := bot.Turn{Department: d.Slug, Actor: "reload", At: w.office.clock.Now()}
		for i, c := range d.Channels {
			if c.Use == department.ProgrammeChannel {
				m := bot.Outgoing{Key: fmt.Sprintf("reload/%s/%d", state, i), To: c.Address(), Reply: bot.Reply{Text: text}}
				turn.Posts = append(turn.Posts, w.office.split(m)...)
			}
		}
		if err := w.office.db.Apply(ctx, turn); err != nil {
			return fmt.Errorf("tell lead of a refused file: %w", err)
		}
	}
	return nil
}

// folderState names the state of the files that a department is read from: their
// names, sizes and times. Files that cannot be looked at are as if not there.
func folderState(dir string) string {
	h := fnv.New64a()
	folders, err := departmentFolders(dir)
	if err != nil {
		fmt.Fprintln(h, err)
	}
	for _, folder := range folders {
		for _, name := range []string{department.FileName, ownAssumptions, ownCards} {
			_ = filepath.WalkDir(filepath.Join(folder, name), func(path string, entry fs.DirEntry, err error) error {
				if err != nil || entry.IsDir() {
					return nil
				}
				if info, err := os.Stat(path); err == nil {
					fmt.Fprintln(h, path, info.Size(), info.ModTime().UnixNano())
				}
				return nil
			})
		}
	}
	return fmt.Sprintf("%x", h.Sum64())
}
