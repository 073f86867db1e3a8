package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"kitbell/bot"
	"kitbell/bot/store"
)

// runAudit verifies the audits of all departments, or shows their ends. It reads
// beside a program that works.
func runAudit(ctx context.Context, args []string, s streams) error {
	if len(args) == 0 || !slices.Contains([]string{"verify", "show"}, args[0]) {
		return usagef("say what to do: audit verify, or audit show")
	}
	flags := flag.NewFlagSet("audit "+args[0], flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	last := 20
	if args[0] == "show" {
		flags.IntVar(&last, "last", last, "how many rows of each department")
	}
	if err := parse(flags, args[1:], 0, s); err != nil {
		return err
	}
	if last < 1 {
		return usagef("--last is how many rows to show, 1 or more")
	}
	place, err := home.named(environment())
	if err != nil {
		return err
	}
	db, err := store.OpenReader(ctx, place, store.Options{})
	if err != nil {
		return err
	}
	defer db.Close()
	audits, err := db.Audits(ctx)
	if err != nil {
		return err
	}
	if args[0] == "verify" {
		return showAudits(s.out, audits)
	}
	return showTails(ctx, s.out, db, audits, last)
}

// showAudits prints how the audits were found. A broken one is an error.
func showAudits(w io.Writer, audits []store.Audit) error {
	table := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	fmt.Fprint(table, "department\trows\tsound to\thash there\tfirst bad row\n")
	var broken []string
	for _, a := range audits {
		bad := "none"
		if a.Fault != "" {
			bad = fmt.Sprintf("%d: %s", a.Sound+1, a.Fault)
			broken = append(broken, a.Department)
		}
		fmt.Fprintf(table, "%s\t%d\t%d\t%x\t%s\n", a.Department, a.Rows, a.Sound, a.Head[:8], bad)
	}
	table.Flush()
	if len(broken) > 0 {
		return &bot.UserError{Say: "The audit of " + strings.Join(broken, ", ") + " was changed by something else than kitbell. Keep this file, and compare it with your backups."}
	}
	fmt.Fprintln(w, "Note the counts and hashes elsewhere: last rows that are removed together with their texts show only against them.")
	return nil
}

// showTails prints the last rows of each audit.
func showTails(ctx context.Context, w io.Writer, db *store.DB, audits []store.Audit, last int) error {
	for _, a := range audits {
		tail, err := db.AuditTail(ctx, a.Department, last)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%s, the last %d of %d rows:\n", a.Department, len(tail), a.Rows)
		for _, row := range tail {
			fmt.Fprintf(w, "%6d  %s  %s  %s  %s  %s\n", row.Seq, row.At.Format(time.RFC3339), oneLine(row.Actor), row.Verb, oneLine(row.Subject), textOf(row))
		}
	}
	return nil
}

// textOf is what a row's texts say, or when they were removed.
func textOf(row store.AuditRow) string {
	switch {
	case !row.Blanked.IsZero():
		return "(text removed on " + row.Blanked.Format(time.DateOnly) + ")"
	case row.Old == "":
		return oneLine(row.New)
	case row.New == "":
		return "no more: " + oneLine(row.Old)
	}
	return oneLine(row.Old) + " → " + oneLine(row.New)
}

// oneLine makes text fit for one line of a terminal: what people wrote moves no
// cursor.
func oneLine(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return ' '
		}
		return r
	}, text)
}
