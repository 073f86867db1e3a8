package main

import (
	"context"
	"flag"
	"fmt"
	"io"

	"kitbell/bot/store"
)

// runRestore puts a backup in the place of the departments' store.
func runRestore(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("restore", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	replace := flags.Bool("replace", false, "set a database file that is there aside, under another name")
	if err := parse(flags, args, 1, s); err != nil {
		return err
	}
	place, err := home.named(environment())
	if err != nil {
		return err
	}
	if *replace && store.IsPostgres(place) {
		return usagef("--replace sets a file aside; for PostgreSQL name an empty database")
	}
	restored, err := store.Restore(ctx, flags.Arg(0), place, *replace, store.Options{})
	if err != nil {
		return err
	}
	showRestored(s.out, restored)
	return nil
}

// showRestored prints what was restored, and what somebody should know of it.
func showRestored(w io.Writer, r store.Restored) {
	showTables(w, r.Tables)
	for _, a := range r.Audits {
		fmt.Fprintf(w, "Audit of %s: %d rows, chained without a break; the last one says that it was restored.\n", a.Department, a.Rows)
	}
	if r.Unsummed {
		fmt.Fprintln(w, "No checksum stood beside the backup. What is in it was checked: every page, every audit.")
	}
	if r.From < r.Version {
		fmt.Fprintf(w, "Its tables were of version %d and were brought up to version %d.\n", r.From, r.Version)
	}
	if r.Unsent > 0 {
		fmt.Fprintf(w, "Messages that waited in it: %d. They may have been sent since, so I do not send them.\n", r.Unsent)
	}
	if r.Aside != "" {
		fmt.Fprintf(w, "The database that stood there is %s now.\n", r.Aside)
	}
	fmt.Fprintf(w, "Everything is in %s. Start kitbell as before.\n", r.Path)
}
