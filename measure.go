package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/door"
	"kitbell/bot/measure"
	"kitbell/knowledge"
)

// runMeasure scores a set of questions, reports or doors against the demo
// department and the embedded cards.
func runMeasure(_ context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("measure", flag.ContinueOnError)
	if err := parse(flags, args, 2, s); err != nil {
		return err
	}
	open, err := openDemoDesk()
	if err != nil {
		return err
	}
	score, ok := map[string]func(*command.Desk, io.Reader, io.Writer) error{
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
	return score(open.desk, file, s.out)
}

func measureQuestions(desk *command.Desk, in io.Reader, out io.Writer) error {
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
	_, err = fmt.Fprint(out, scores)
	return err
}

func measureReports(desk *command.Desk, in io.Reader, out io.Writer) error {
	cases, err := measure.ReadReports(in)
	if err != nil {
		return err
	}
	score, err := measure.Reports(desk.Reader, cases, out)
	if err != nil {
		return err
	}
	return score.Print(out)
}

func measureDoors(desk *command.Desk, in io.Reader, out io.Writer) error {
	cases, err := measure.ReadDoors(in)
	if err != nil {
		return err
	}
	score, err := measure.Doors(desk.Reader, cases, out)
	if err != nil {
		return err
	}
	plan := func(facts door.Facts) (door.Plan, error) {
		return desk.Doors.Plan(door.Request{Facts: facts, Tools: desk.CompleteKit(desk.Department.InForce)})
	}
	plans, err := measure.Plans(desk.Reader, plan, cases, out)
	if err != nil {
		return err
	}
	return errors.Join(score.Print(out), plans.Print(out))
}
