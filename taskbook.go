package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
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
	paper := flags.String("paper", label.Letter, "paper: letter or a4")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case home.dir == "":
		return usagef("name the folder of the department with -c DIR")
	case *member == "":
		return usagef("say whose page with --member NAME")
	case *out == "":
		return usagef("name the file to write with --out FILE")
	case *paper != label.Letter && *paper != label.A4:
		return usagef("the paper is letter or a4, not %q", *paper)
	}
	all, db, err := openCopies(ctx, home, s)
	if err != nil {
		return err
	}
	defer db.Close()
	o, m, err := whoseDesk(all, *member)
	if err != nil {
		return err
	}
	d := o.desk.Department
	page, err := command.BookPage(ctx, o.desk, db, m.ID)
	if errors.Is(err, bot.ErrNotFound) {
		return &bot.UserError{Say: "The department's file has no task book. Write one under task-book."}
	}
	if err != nil {
		return err
	}
	on := training.Paper{Size: *paper, Department: d.Name, Printed: time.Now(), Zone: d.Zone, Name: func(id string) string {
		if m, ok := d.Member(id); ok {
			return m.Name
		}
		return id
	}}
	if err := writeFile(*out, func(w io.Writer) error { return page.PDF(w, on) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "Wrote %s: the task book of %s, %d of %d skills open.\n", *out, m.Name, len(page.Open()), len(page.Lines))
	return err
}

// whoseDesk finds a member among the departments of a folder.
func whoseDesk(all []opened, name string) (o opened, m department.Member, err error) {
	for _, o = range all {
		if m, err = memberCalled(o.desk.Department, name); err == nil {
			return o, m, nil
		}
	}
	return o, m, err
}
