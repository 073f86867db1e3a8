package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/label"
)

// runLabels prints a label for each queue line that is in hand.
func runLabels(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("labels", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	out := flags.String("out", "", "file to write")
	paper := flags.String("paper", label.Letter, "paper: letter or a4")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case home.dir == "":
		return usagef("name the folder of the department with -c DIR")
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
	var labels []label.Label
	for _, o := range all {
		packed, err := command.Bags(ctx, o.desk, db)
		if err != nil {
			return err
		}
		for _, p := range packed {
			labels = append(labels, label.Label(p))
		}
	}
	if len(labels) == 0 {
		return &bot.UserError{Say: "Nothing is in hand, so there is no label to print."}
	}
	if err := writeFile(*out, func(w io.Writer) error { return label.PDF(w, *paper, time.Now(), labels) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "Wrote %s: labels for %s, in the order of the bag list.\n", *out, lineCount(len(labels)))
	return err
}

func lineCount(n int) string {
	if n == 1 {
		return "1 line"
	}
	return fmt.Sprintf("%d lines", n)
}
