package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/store"
)

// personAsk is what kitbell person is asked to do.
type personAsk struct {
	home                         *home
	member, slug, export, reason string
	remove                       bool
}

// runPerson hands out everything that is stored of one member, or removes it.
func runPerson(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("person", flag.ContinueOnError)
	ask := personAsk{home: homeFlags(flags, "folder of the department")}
	flags.StringVar(&ask.member, "member", "", "id or full name of the member")
	flags.StringVar(&ask.slug, "department", "", "the department, where the folder has several")
	flags.StringVar(&ask.export, "export", "", "JSON file to write")
	flags.BoolVar(&ask.remove, "remove", false, "remove what is stored of them; needs --reason")
	flags.StringVar(&ask.reason, "reason", "", "why, for the audit")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case ask.member == "":
		return usagef("name the member with --member")
	case (ask.export != "") == ask.remove:
		return usagef("say either --export FILE or --remove")
	case ask.remove && strings.TrimSpace(ask.reason) == "":
		return usagef("say why with --reason: the audit keeps it")
	}
	all, err := openDesks(ask.home.dir, s.err)
	if err != nil {
		return err
	}
	d, err := departmentOf(all, ask.slug)
	if err != nil {
		return err
	}
	place, err := ask.home.database(environment())
	if err != nil {
		return err
	}
	if ask.remove {
		return ask.removeFrom(ctx, d, place, s.out)
	}
	return ask.exportFrom(ctx, d, place, s.out)
}

// departmentOf is the department with a slug, or the only one.
func departmentOf(all []opened, slug string) (*department.Department, error) {
	var slugs []string
	for _, o := range all {
		if d := o.desk.Department; d.Slug == slug || slug == "" && len(all) == 1 {
			return d, nil
		}
		slugs = append(slugs, o.desk.Department.Slug)
	}
	return nil, &bot.UserError{Say: "Say whose member with --department: " + strings.Join(slugs, ", ") + "."}
}

// personCalled is the member of this id or full name, or one who has left the file,
// by id. Parts of a name are not taken: the wrong one may not be removed.
func (a personAsk) personCalled(ctx context.Context, d *department.Department, db *store.DB) (p store.Person, inFile bool, err error) {
	p = store.Person{Department: d.Slug, Member: a.member, Accounts: map[string]string{}}
	same := func(m department.Member) bool { return m.ID == a.member || strings.EqualFold(m.Name, a.member) }
	if i := slices.IndexFunc(d.Members, same); i >= 0 {
		m := d.Members[i]
		if slices.ContainsFunc(d.Members[i+1:], same) {
			return p, false, &bot.UserError{Say: "More than one is called " + a.member + ". Say the id."}
		}
		p.Member, p.Name, inFile = m.ID, m.Name, true
		for platform, id := range m.Accounts {
			p.Accounts[platform] = id
		}
	}
	if strings.ContainsAny(p.Member, " \"") {
		return p, false, &bot.UserError{Say: "Nobody here is called " + a.member + ". For one who has left the file say the id."}
	}
	claims, err := db.Entries(ctx, d.Slug, "account", "", time.Time{})
	for _, c := range claims {
		var claim struct{ Member, State string }
		platform, id, ok := strings.Cut(c.Subject, ":")
		if json.Unmarshal(c.Body, &claim) == nil && ok && claim.Member == p.Member && claim.State == "confirmed" {
			p.Accounts[platform] = id
		}
	}
	return p, inFile, err
}

// exportFrom writes what is stored of a member, readable, for them.
func (a personAsk) exportFrom(ctx context.Context, d *department.Department, place string, w io.Writer) error {
	db, err := store.OpenReader(ctx, place, store.Options{})
	if err != nil {
		return err
	}
	defer db.Close()
	p, _, err := a.personCalled(ctx, d, db)
	if err != nil {
		return err
	}
	held, err := db.HeldOf(ctx, p)
	if err != nil {
		return err
	}
	tables, rows := map[string]any{}, 0
	for _, h := range held {
		tables[h.Table], rows = h.Rows, rows+len(h.Rows)
	}
	if err := writePrivately(a.export, map[string]any{
		"department": d.Slug, "member": p.Member, "name": p.Name, "accounts": p.Accounts, "made": time.Now().UTC().Format(time.RFC3339), "stored": tables,
	}); err != nil {
		return err
	}
	fmt.Fprintf(w, "Wrote %d rows of %s into %s. Words of others that speak of them without their name or id are not in it.\n", rows, p.Member, a.export)
	return nil
}

// writePrivately writes a new file that only its owner reads.
func writePrivately(path string, value any) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return &bot.UserError{Say: "I cannot make " + path + ". Is it there already?", Err: err}
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	e := json.NewEncoder(f)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(value)
}

// Journal kinds by what becomes of a member's entries when they are removed: what is
// theirs alone goes, what was signed stays as it is. All others keep their figures
// under a pseudonym.
var (
	goneWithPerson = []string{"riding", "account", "seen", "note"}
	signedRecords  = []string{"session", "task-book", "roll-out", "budget-request", "adopted", "access"}
)

// removeFrom removes what is stored of a member. It works on the store alone: while
// run works on it, it is refused.
func (a personAsk) removeFrom(ctx context.Context, d *department.Department, place string, w io.Writer) error {
	if h := d.Retention.Hold; h.Holds(time.Now()) {
		return &bot.UserError{Say: fmt.Sprintf("Nothing may be removed before %s: %s (%s).", h.Until.Format(time.DateOnly), h.Reason, h.By)}
	}
	there, err := store.Exists(ctx, place)
	if err != nil {
		return err
	}
	if !there {
		return &bot.UserError{Say: "There is no database yet, so nothing is stored of anybody."}
	}
	db, err := store.Open(ctx, place, store.Options{})
	if err != nil {
		return err
	}
	defer db.Close()
	p, inFile, err := a.personCalled(ctx, d, db)
	if err != nil {
		return err
	}
	removed, err := db.RemovePerson(ctx, store.Removal{Person: p, Gone: goneWithPerson, Signed: signedRecords, Reason: a.reason, Actor: "kitbell person"})
	if err != nil {
		return err
	}
	showRemoved(w, p, removed)
	if inFile {
		fmt.Fprintf(w, "%s is still in the department file, with name and accounts. Take them out, or they are known again.\n", p.Member)
	}
	return nil
}

// showRemoved prints what was removed and what stays.
func showRemoved(w io.Writer, p store.Person, removed []store.Removed) {
	if len(removed) == 0 {
		fmt.Fprintf(w, "Nothing is left to remove of %s.\n", p.Member)
		return
	}
	table := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	fmt.Fprint(table, "table\trows changed or removed\n")
	for _, r := range removed {
		fmt.Fprintf(table, "%s\t%d\n", r.Table, r.Rows)
	}
	table.Flush()
	fmt.Fprintf(w, "Removed or put under a pseudonym what is stored of %s. What stays: signed training records, and the audit's rows, which name ids and say that this was done. "+
		"Backups from before, and messages on the chat platforms, still have it.\n", p.Member)
}
