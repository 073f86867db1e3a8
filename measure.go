package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io"
	"os"
	"slices"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/door"
	"kitbell/bot/measure"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// runMeasure scores a set of questions, reports or doors against the demo
// department and the embedded cards: the figures first, then what missed. A set
// that is held back is scored with --figures, which shows no miss.
func runMeasure(_ context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("measure", flag.ContinueOnError)
	figures := flags.Bool("figures", false, "print the figures and no miss")
	if err := parse(flags, args, 2, s); err != nil {
		return err
	}
	open, err := openDemoDesk()
	if err != nil {
		return err
	}
	score, ok := map[string]func(*command.Desk, io.Reader, scoreSheet) error{
		"questions": measureQuestions, "reports": measureReports, "doors": measureDoors,
	}[flags.Arg(0)]
	if !ok {
		return usagef("it scores questions, reports or doors, not %q", flags.Arg(0))
	}
	file, err := os.Open(flags.Arg(1))
	if err != nil {
		return &bot.UserError{Say: "I cannot read " + flags.Arg(1) + ".", Err: err}
	}
	defer file.Close()
	var misses bytes.Buffer
	err = score(open.desk, file, scoreSheet{s.out, &misses})
	if !*figures {
		_, printed := misses.WriteTo(s.out)
		err = errors.Join(err, printed)
	}
	return err
}

// scoreSheet is where a score goes: its figures, and the misses to be shown below.
type scoreSheet struct{ figures, misses io.Writer }

func measureQuestions(desk *command.Desk, in io.Reader, out scoreSheet) error {
	questions, err := measure.ReadQuestions(in)
	if err != nil {
		return err
	}
	scores := measure.Questions(questions, func(question string) []string {
		found := desk.Cards.Search(question)
		if found.Verdict == knowledge.Declined {
			return nil
		}
		ids := make([]string, len(found.Hits))
		for i, hit := range found.Hits {
			ids[i] = hit.ID
		}
		return ids
	})
	scores.Hear(questions, func(text string) bool {
		read := desk.Read(text, understand.Context{})
		return read.Intent == understand.Ask || slices.Contains(read.Also, understand.Ask)
	})
	return errors.Join(scores.Print(out.figures), scores.PrintMisses(out.misses))
}

func measureReports(desk *command.Desk, in io.Reader, out scoreSheet) error {
	cases, err := measure.ReadReports(in)
	if err != nil {
		return err
	}
	score, err := measure.Reports(desk, cases, out.misses)
	if err != nil {
		return err
	}
	return score.Print(out.figures)
}

func measureDoors(desk *command.Desk, in io.Reader, out scoreSheet) error {
	cases, err := measure.ReadDoors(in)
	if err != nil {
		return err
	}
	score, err := measure.Doors(desk, cases, out.misses)
	if err != nil {
		return err
	}
	plan := func(facts door.Facts) (door.Plan, error) {
		return desk.Doors.Plan(door.Request{Facts: facts, Tools: desk.CompleteKit(desk.Department.InForce)})
	}
	plans, err := measure.Plans(desk, plan, cases, out.misses)
	if err != nil {
		return err
	}
	return errors.Join(score.Print(out.figures), plans.Print(out.figures))
}
