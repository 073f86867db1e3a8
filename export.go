package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/sheet"
)

// runExport hands out a department's records: as a table, as JSON lines, and with
// them what was left out and why.
func runExport(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("export", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department; without one, the demo department")
	out := flags.String("out", "", "folder to write into")
	from := flags.String("from", "", "first day, like 2026-07-01")
	to := flags.String("to", "", "last day, like 2027-06-30")
	unit := flags.String("unit", "", "one rig, by id or name")
	kinds := flags.String("kind", "", "kinds, between commas: "+strings.Join(command.ExportKinds(), ", "))
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case *out == "":
		return usagef("name the folder to write into with --out DIR")
	}
	all, db, err := openCopiesOrDemo(ctx, home, s)
	if err != nil {
		return err
	}
	defer db.Close()
	if err := os.MkdirAll(*out, 0o750); err != nil {
		return &bot.UserError{Say: "I cannot make the folder " + *out + ".", Err: err}
	}
	for _, o := range all {
		d := o.desk.Department
		filter, err := exportFilter(d, *from, *to, *unit, *kinds)
		if err != nil {
			return err
		}
		records, err := command.Export(ctx, o.desk, db, filter)
		if err != nil {
			return err
		}
		if err := writeExport(filepath.Join(*out, d.Slug+"-records"), records); err != nil {
			return err
		}
		fmt.Fprintf(s.out, "Wrote %d records of %s into %s. What is left out, and why, stands in %s-records-left-out.txt.\n", len(records), d.Name, *out, d.Slug)
	}
	return nil
}

// exportFilter reads the flags. Days are the department's own.
func exportFilter(d *department.Department, from, to, unit, kinds string) (command.ExportFilter, error) {
	var f command.ExportFilter
	var err error
	if f.From, err = exportDay(from, d.Zone); err != nil {
		return f, err
	}
	if f.To, err = exportDay(to, d.Zone); err != nil {
		return f, err
	}
	if to != "" {
		f.To = f.To.AddDate(0, 0, 1)
	}
	if from != "" && to != "" && !f.From.Before(f.To) {
		return f, usagef("--from %s is after --to %s", from, to)
	}
	f.Unit = unit
	for _, u := range d.Units {
		if strings.EqualFold(u.Name, unit) {
			f.Unit = u.ID
		}
	}
	for name := range strings.SplitSeq(kinds, ",") {
		if name = strings.TrimSpace(name); name != "" {
			f.Kinds = append(f.Kinds, name)
		}
	}
	return f, nil
}

func exportDay(text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, text, zone)
	if err != nil {
		return day, usagef("a day is written like 2026-07-01, not %q", text)
	}
	return day, nil
}

// writeExport writes the table, the JSON lines, and what is not in them.
func writeExport(path string, records []command.Exported) error {
	if err := writeFile(path+".csv", func(w io.Writer) error { return sheet.WriteCSV(w, command.ExportTable(records)) }); err != nil {
		return err
	}
	if err := writeFile(path+".jsonl", func(w io.Writer) error {
		encoder := json.NewEncoder(w)
		for _, record := range records {
			if err := encoder.Encode(record); err != nil {
				return fmt.Errorf("write record: %w", err)
			}
		}
		return nil
	}); err != nil {
		return err
	}
	return writeFile(path+"-left-out.txt", func(w io.Writer) error {
		var text strings.Builder
		text.WriteString("Left out of these records, and why:\n\n")
		for _, l := range command.NotExported() {
			fmt.Fprintf(&text, "- %s: %s\n", l.Kind, l.Why)
		}
		_, err := io.WriteString(w, text.String())
		return err
	})
}
