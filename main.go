// Command kitbell is a fire department's kit officer in the station group
// chat. See README.md for what it does and DEVELOPERS.md for how it is built.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // departments name zones that the machine may not know

	"kitbell/bot"
)

// Exit codes of every subcommand.
const (
	exitOK    = 0
	exitError = 1 // it could not do what was asked; a sentence says why
	exitUsage = 2 // it was called with words it does not know
)

// streams are where a subcommand reads and writes, so that tests can give their
// own.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// subcommand is one thing that the program can be started as.
type subcommand struct {
	name, usage, summary string
	run                  func(ctx context.Context, args []string, s streams) error
}

func subcommands() []subcommand {
	return []subcommand{
		{"demo", "demo [--plain] [--start TIME]", "Try everything in the terminal, with an invented department.", runDemo},
		{"say", "say [--json] [--fresh] [-c DIR] [--as MEMBER] TEXT|-", "Send messages through the bot with no chat platform.", runSay},
		{"run", "run -c DIR [--db ADDRESS] [--terminal] [--http ADDR] [--backup FOLDER]", "Work for the departments in DIR, on their chat platforms or at this terminal.", runRun},
		{"slack", "slack manifest [--listening] [--http URL]", "Print the app manifest to paste at Slack.", runSlack},
		{"discord", "discord invite APPLICATION-ID", "Print the link that lets the bot into a Discord server.", runDiscord},
		{"service", "service -c DIR", "Print a systemd unit that runs kitbell.", runService},
		{"init", "init DIR", "Write a commented department file to start from.", runInit},
		{"preflight", "preflight -c DIR [--db ADDRESS]", "Check the department in DIR and its platforms. Nobody sees anything of it.", runPreflight},
		{"migrate", "migrate -c DIR --to ADDRESS", "Move everything in DIR/kitbell.db into an empty PostgreSQL database.", runMigrate},
		{"rehearse", "rehearse [-c DIR] [--days N] [--start TIME] [--json] [--departments K]", "Show every post of the next days and why it would go out. Nothing is sent.", runRehearse},
		{"pocket", "pocket [-c DIR] [--list N] [--paper letter|a4] --out DIR", "Write the phone page and the lid sheet of each kit list.", runPocket},
		{"calendar", "calendar [-c DIR] [--unit RIG] [--platoon P] [--days N] [--out FILE]", "Write a calendar feed of tours, check days and drills, for a rig or the lead.", runCalendar},
		{"labels", "labels -c DIR [--paper letter|a4] --out FILE", "Print a label for each queue line that is in hand.", runLabels},
		{"training", "training -c DIR [--year Y] [--names] [--xlsx] --out DIR", "Write a year's training records and hours as CSV tables, or as a workbook too.", runTraining},
		{"taskbook", "taskbook -c DIR --member NAME [--paper letter|a4] --out FILE", "Print one member's page of the task book, to be signed.", runTaskBook},
		{"budget", "budget [-c DIR] [--number 2028-1] [--paper letter|a4] --out DIR", "Write the yearly request as a workbook, PDF and CSV, with the programme's pictures.", runBudget},
		{"export", "export [-c DIR] [--from DAY] [--to DAY] [--unit RIG] [--kind KINDS] --out DIR", "Hand out the records, as CSV and JSON lines, without names and what else must be left out.", runExport},
		{"backup", "backup -c DIR [--db ADDRESS] --out FILE|FOLDER", "Write everything into one checked file, also while run works.", runBackup},
		{"restore", "restore -c DIR [--db ADDRESS] [--replace] FILE", "Bring a backup back.", runRestore},
		{"retention", "retention -c DIR [--db ADDRESS]", "Show what is over the time that the department file gives it. Nothing is removed.", runRetention},
		{"person", "person -c DIR [--db ADDRESS] --member NAME --export FILE | --remove --reason WHY", "Hand out what is stored of a member, or remove it.", runPerson},
		{"audit", "audit verify|show [--last N] -c DIR [--db ADDRESS]", "Verify the audits of all departments, or show their last rows.", runAudit},
		{"measure", "measure [--figures] questions|reports|doors FILE", "Score a set of questions, reports or doors.", runMeasure},
	}
}

func main() { os.Exit(start()) }

// start is main without the exit, so that deferred work is done.
func start() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return dispatch(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})
}

// dispatch finds the subcommand and turns its error into a sentence and an exit
// code.
func dispatch(ctx context.Context, args []string, s streams) int {
	if len(args) == 0 || args[0] == "help" || args[0] == "-h" || args[0] == "--help" {
		printUsage(s.out)
		return exitOK
	}
	for _, sub := range subcommands() {
		if sub.name == args[0] {
			return report(sub, sub.run(ctx, args[1:], s), s.err)
		}
	}
	fmt.Fprintf(s.err, "kitbell: there is no %q. These are there:\n\n", args[0])
	printUsage(s.err)
	return exitUsage
}

func report(sub subcommand, err error, w io.Writer) int {
	var forPerson *bot.UserError
	var usage *usageError
	switch {
	case err == nil || errors.Is(err, flag.ErrHelp):
		return exitOK
	case errors.As(err, &usage):
		fmt.Fprintf(w, "kitbell %s: %s\nUse it like this: kitbell %s\n", sub.name, usage.why, sub.usage)
		return exitUsage
	case errors.As(err, &forPerson):
		fmt.Fprintf(w, "kitbell %s: %s\n", sub.name, forPerson.Say)
	default:
		fmt.Fprintf(w, "kitbell %s: %v\n", sub.name, err)
	}
	return exitError
}

func printUsage(w io.Writer) {
	fmt.Fprint(w, "kitbell keeps a fire department's entry kits: it answers, reports and reminds.\n\n")
	for _, sub := range subcommands() {
		fmt.Fprintf(w, "  kitbell %s\n      %s\n", sub.usage, sub.summary)
	}
}

// usageError says that the words after a subcommand's name are off.
type usageError struct{ why string }

func (e *usageError) Error() string { return e.why }

func usagef(format string, args ...any) error { return &usageError{fmt.Sprintf(format, args...)} }

// parse reads a subcommand's flags. want is how many words must follow them; a
// negative number means that at least that many must.
func parse(flags *flag.FlagSet, args []string, want int, s streams) error {
	flags.SetOutput(s.out)
	flags.Usage = func() { flags.PrintDefaults() }
	silent := flag.NewFlagSet(flags.Name(), flag.ContinueOnError)
	silent.SetOutput(io.Discard)
	flags.VisitAll(func(f *flag.Flag) { silent.Var(f.Value, f.Name, f.Usage) })
	if err := silent.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			flags.PrintDefaults()
			return err
		}
		return usagef("%v", err)
	}
	n := silent.NArg()
	if want >= 0 && n != want || want < 0 && n < -want {
		return usagef("words that are not flags: %d wanted, %d given", max(want, -want), n)
	}
	return flags.Parse(args)
}
