package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"kitbell/bot"
	"kitbell/bot/store"
)

// runBackup makes a backup of the departments' store, also while a program works
// on it.
func runBackup(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("backup", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	out := flags.String("out", "", "file to write, or folder to write into")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	if *out == "" {
		return usagef("name the file or the folder to write with --out")
	}
	place, err := home.named(environment())
	if err != nil {
		return err
	}
	folder, name, err := backupPlace(*out, time.Now())
	if err != nil {
		return err
	}
	made, err := store.Save(ctx, place, folder, name, store.Options{})
	if err != nil {
		return err
	}
	showTables(s.out, made.Tables)
	for _, a := range made.Audits {
		fmt.Fprintf(s.out, "Audit of %s: %d rows, chained without a break.\n", a.Department, a.Rows)
	}
	fmt.Fprintf(s.out, "Wrote %s, opened it and checked it. Its checksum stands beside it (%s).\n", made.Path, filepath.Base(made.Path)+store.SumSuffix)
	return nil
}

// backupPlace is the folder and the name of a backup: a file is named by who asked,
// in a folder it gets its date and its departments.
func backupPlace(out string, now time.Time) (folder string, name func([]string) string, err error) {
	info, err := os.Stat(out)
	switch {
	case err == nil && info.IsDir():
		return out, func(departments []string) string { return backupName("kitbell-", now, departments) }, nil
	case strings.HasSuffix(out, string(filepath.Separator)):
		return "", nil, &bot.UserError{Say: "There is no folder " + out + ". Make it first.", Err: err}
	}
	return filepath.Dir(out), func([]string) string { return filepath.Base(out) }, nil
}

// Forms of a backup's name: a moment in UTC, so that names sort, and at most so
// many departments.
const (
	backupTime   = "20060102T150405Z"
	backupEnding = ".db"
	mostNamed    = 3
)

// backupName is a backup's name: when, and of whom.
func backupName(prefix string, at time.Time, departments []string) string {
	return prefix + at.UTC().Format(backupTime) + "-" + ofWhom(departments) + backupEnding
}

func ofWhom(departments []string) string {
	more := len(departments) - mostNamed
	switch {
	case len(departments) == 0:
		return "empty"
	case more > 0:
		return fmt.Sprintf("%s+%d-more", strings.Join(departments[:mostNamed], "+"), more)
	}
	return strings.Join(departments, "+")
}

// showTables prints how many rows each table has, with their checksum.
func showTables(w io.Writer, tables []store.Copied) {
	table := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	fmt.Fprint(table, "table\trows\tchecksum\n")
	for _, t := range tables {
		fmt.Fprintf(table, "%s\t%d\t%x\n", t.Table, t.Rows, t.Sum[:8])
	}
	table.Flush()
}
