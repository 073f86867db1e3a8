package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/sheet"
)

// runTraining writes a year's training records and hours as tables.
func runTraining(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("training", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	out := flags.String("out", "", "folder to write into")
	year := flags.Int("year", time.Now().Year(), "the year")
	names := flags.Bool("names", false, "hours by member too; records name who did something by hand in any case")
	xlsx := flags.Bool("xlsx", false, "a workbook too")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case home.dir == "":
		return usagef("name the folder of the department with -c DIR")
	case *out == "":
		return usagef("name the folder to write into with --out DIR")
	case *year < 2000 || *year > 2100:
		return usagef("the year is one like %d, not %d", time.Now().Year(), *year)
	}
	all, db, err := openCopies(ctx, home, s)
	if err != nil {
		return err
	}
	defer db.Close()
	if err := os.MkdirAll(*out, 0o750); err != nil {
		return &bot.UserError{Say: "I cannot make the folder " + *out + ".", Err: err}
	}
	for _, o := range all {
		tables, err := command.Training(ctx, o.desk, db, *year, time.Now(), *names)
		if err != nil {
			return err
		}
		if err := writeTables(tables, func(name string) string {
			return filepath.Join(*out, fmt.Sprintf("%s-%s-%d", o.desk.Department.Slug, name, *year))
		}, *xlsx); err != nil {
			return err
		}
		fmt.Fprintf(s.out, "Wrote %s's training of %d into %s: %d rows of records.\n", o.desk.Department.Name, *year, *out, len(tables.Records.Rows))
	}
	return nil
}

// writeTables writes a file of comma-separated values for each table, and one
// workbook with both where it is asked for. path says where a file goes, but for
// its ending.
func writeTables(tables command.TrainingTables, path func(name string) string, workbook bool) error {
	for name, table := range map[string]sheet.Table{"records": tables.Records, "hours": tables.Hours} {
		if err := writeFile(path(name)+".csv", func(w io.Writer) error { return sheet.WriteCSV(w, table) }); err != nil {
			return err
		}
	}
	if !workbook {
		return nil
	}
	name := path("training")
	book := sheet.Workbook{Title: filepath.Base(name), Made: time.Now(), Tables: []sheet.Table{tables.Records, tables.Hours}}
	return writeFile(name+".xlsx", func(w io.Writer) error { return sheet.WriteXLSX(w, book) })
}
