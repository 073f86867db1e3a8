package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/label"
	"kitbell/bot/training"
)

// runTaskBook prints one member's page of the task book, to be signed.
func runTaskBook(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("taskbook", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	member := flags.String("member", "", "id or name of whose page")
	out := flags.String("out", "", "file to write")
	code := flags.String("check", "", "record code of a printed page, to hold it to the books")
	paper := flags.String("paper", label.Letter, "paper: letter or a4")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case home.dir == "":
		return usagef("name the folder of the department with -c DIR")
	case *member == "":
		return usagef("say whose page with --member NAME")
	case (*out == "") == (*code == ""):
		return usagef("name the file to write with --out FILE, or the code of a printed page with --check CODE")
	case *paper != label.Letter && *paper != label.A4:
		return usagef("the paper is letter or a4, not %q", *paper)
	}
	all, db, err := openCopies(ctx, home, s)
	if err != nil {
		return err
	}
	defer db.Close()
	o, page, name, err := whosePage(ctx, all, db, *member)
	if err != nil {
		return err
	}
	d := o.desk.Department
	if *code != "" {
		return checkPage(page, *code, name, s)
	}
	on := training.Paper{Size: *paper, Department: d.Name, Printed: time.Now(), Zone: d.Zone, Door: command.DoorKindWords, Name: func(id string) string {
		if m, ok := d.Member(id); ok {
			return m.Name
		}
		if id == page.Member {
			return name
		}
		return id
	}}
	if err := writeFile(*out, func(w io.Writer) error { return page.PDF(w, on) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "Wrote %s: the task book of %s, %d of %d skills open. Record %s.\n", *out, name, len(page.Open()), len(page.Lines), page.Code())
	return err
}

// checkPage says whether a printed page still is what the books say.
func checkPage(page training.Page, code, name string, s streams) error {
	if !strings.EqualFold(strings.Trim(strings.TrimPrefix(strings.TrimSpace(code), "Record "), " ."), page.Code()) {
		return &bot.UserError{Say: "That is not what the task book of " + name + " says now. It was signed or withdrawn since, the list of skills changed, or the page is not ours."}
	}
	_, err := fmt.Fprintf(s.out, "Record %s is the task book of %s as it stands.\n", page.Code(), name)
	return err
}

// whosePage finds a member's page among the departments of a folder: one who is in
// the file, or who has left and was signed for.
func whosePage(ctx context.Context, all []opened, books command.Books, member string) (o opened, page training.Page, name string, err error) {
	none := &bot.UserError{Say: "Nobody here is called " + member + "."}
	for _, o = range all {
		d := o.desk.Department
		m, unknown := memberCalled(d, member)
		switch {
		case unknown == nil && m.Has(department.Guest):
			return o, page, "", &bot.UserError{Say: m.Name + " is a guest, and a guest has no task book."}
		case unknown == nil && len(d.TaskBook) == 0:
			none = &bot.UserError{Say: "The department's file has no task book. Write one under task-book."}
		}
		id := member
		if unknown == nil {
			id = m.ID
		}
		page, name, err = command.BookPage(ctx, o.desk, books, id)
		if err == nil || !errors.Is(err, bot.ErrNotFound) {
			return o, page, name, err
		}
	}
	return o, page, "", none
}
