package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"text/tabwriter"

	"kitbell/bot/store"
)

// runMigrate moves everything of the departments' file into a PostgreSQL database.
func runMigrate(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("migrate", flag.ContinueOnError)
	dir := flags.String("c", "", "folder of the department")
	to := flags.String("to", "", "address of an empty PostgreSQL database ("+databaseAddress+")")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	if *dir == "" {
		return usagef("name the folder of the department with -c DIR")
	}
	path := filepath.Join(*dir, databaseFile)
	place, err := (&home{dir: *dir, address: *to}).database(environment())
	if err != nil {
		return err
	}
	if place == path {
		return usagef("name the database to move to with --to or %s", databaseAddress)
	}
	moved, err := store.Move(ctx, path, place, store.Options{})
	if err != nil {
		return err
	}
	showMoved(s.out, moved)
	fmt.Fprintf(s.out, "Everything in %s is in %s now. Start kitbell with %s from here on.\nThe file is as it was. Keep it as a backup, and start no kitbell on it any more.\n",
		path, store.PlaceName(place), databaseAddress)
	return nil
}

// showMoved prints what was moved: as many rows with the same checksum are in the
// file and in the database.
func showMoved(w io.Writer, moved store.Moved) {
	table := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	fmt.Fprint(table, "table\trows\tchecksum, the same in both\n")
	for _, t := range moved.Tables {
		fmt.Fprintf(table, "%s\t%d\t%x\n", t.Table, t.Rows, t.Sum[:8])
	}
	table.Flush()
	for _, a := range moved.Audits {
		fmt.Fprintf(w, "Audit of %s: %d rows, chained without a break.\n", a.Department, a.Rows)
	}
}
