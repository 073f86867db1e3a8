package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

func main() {
	flag.Usage = func() {
		fmt.Fprintln(flag.CommandLine.Output(), "go run . [-tune] [FILE.tsv ...]")
		flag.PrintDefaults()
	}
	onlyTune := flag.Bool("tune", false, "look for the library's best boosts on the files instead")
	flag.Parse()
	if err := run(flag.Args(), *onlyTune, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "compare:", err)
		os.Exit(1)
	}
}

// ownQuestions and heldQuestions are the project's sets, seen from this folder.
const (
	ownQuestions  = "../../testdata/questions/own.tsv"
	heldQuestions = "../../testdata/questions/held.tsv"
)

func run(files []string, onlyTune bool, out io.Writer) error {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		return fmt.Errorf("read cards: %w", problems[0])
	}
	if onlyTune && len(files) == 0 {
		files = []string{ownQuestions}
	} else if len(files) == 0 {
		files = []string{ownQuestions, heldQuestions}
	}
	for _, file := range files {
		questions, err := readQuestions(file)
		if err != nil {
			return err
		}
		if onlyTune {
			err = tune(library.All(), questions, out)
		} else {
			err = printTable(filepath.Base(file), library.All(), questions, out)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func readQuestions(file string) ([]measure.Question, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("read questions: %w", err)
	}
	questions, err := measure.ReadQuestions(f)
	return questions, errors.Join(err, f.Close())
}

// printTable compares every engine on one set of questions.
func printTable(name string, cards []*knowledge.Card, questions []measure.Question, out io.Writer) error {
	fmt.Fprintf(out, "%s: %d questions over %d cards. Times of one run on this machine.\n", name, len(questions), len(cards))
	fmt.Fprintf(out, "%-28s %7s %7s %7s %7s %8s %9s %9s %8s %9s\n", "", "first", "three", "nDCG@10", "AUROC", "declined", "median", "p99", "heap", "build")
	engines := []engine{ownEngine()}
	for _, s := range setups() {
		engines = append(engines, s.engine())
	}
	for _, e := range engines {
		r, err := compare(e, cards, questions)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%-28s %5.1f %% %5.1f %% %7.3f %7.3f %6.1f %% %9v %9v %5.1f MB %9v\n", e.name,
			100*r.scores.First, 100*r.scores.WithinThree, r.scores.NDCG, r.apart, 100*r.declined,
			r.scores.Median.Round(time.Microsecond), r.scores.Slowest.Round(time.Microsecond), r.heap, r.built.Round(time.Millisecond))
	}
	fmt.Fprintf(out, "declined: unanswerable questions declined when the threshold declines at most %.0f %% of the answerable ones.\n", 100*wronglyDeclined)
	for _, e := range engines {
		fmt.Fprintf(out, "  %s: %s\n", e.name, e.setup)
	}
	_, err := fmt.Fprintln(out)
	return err
}
