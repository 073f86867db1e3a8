package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/command"
	"kitbell/bot/label"
	"kitbell/bot/sheet"
	"kitbell/bot/store"
)

// written is a request that can be put on paper: a draft, or one that was handed in.
type written interface {
	Workbook(p budget.Presentation) sheet.Workbook
	PDF(w io.Writer, p budget.Presentation) error
}

// runBudget writes the yearly request as a workbook, as PDF and as CSV, and the
// programme's pictures beside it.
func runBudget(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("budget", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department; without one, the demo department")
	out := flags.String("out", "", "folder to write into")
	number := flags.String("number", "", "of a request that was handed in, like 2028-1; without one, the draft")
	paper := flags.String("paper", label.Letter, "paper: letter or a4")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case *out == "":
		return usagef("name the folder to write into with --out DIR")
	case *paper != label.Letter && *paper != label.A4:
		return usagef("the paper is letter or a4, not %q", *paper)
	}
	all, db, err := openCopiesOrDemo(ctx, home, s)
	if err != nil {
		return err
	}
	defer db.Close()
	if err := os.MkdirAll(*out, 0o750); err != nil {
		return &bot.UserError{Say: "I cannot make the folder " + *out + ".", Err: err}
	}
	now, found := time.Now(), false
	for _, o := range all {
		if o.desk.Department.Budget.YearStarts.Month == 0 {
			fmt.Fprintf(s.out, "%s has no budget section in its file, so no request.\n", o.desk.Department.Name)
			continue
		}
		request, name, total, err := requestToWrite(ctx, o.desk, db, *number, now)
		if err != nil {
			return err
		}
		if request == nil {
			continue // another department's number
		}
		found = true
		path := filepath.Join(*out, o.desk.Department.Slug+"-"+name)
		if err := writeRequest(path, request, command.Presentation(o.desk, *paper, now)); err != nil {
			return err
		}
		if err := writeFigures(ctx, o.desk, db, filepath.Join(*out, o.desk.Department.Slug), now); err != nil {
			return err
		}
		fmt.Fprintf(s.out, "Wrote the %s of %s into %s, as XLSX, PDF and CSV: %s.\n", strings.ReplaceAll(name, "-", " "), o.desk.Department.Name, *out, total)
	}
	if *number != "" && !found {
		return bot.SayBudgetNoRequest.With(*number)
	}
	return nil
}

// openCopiesOrDemo opens copies as openCopies does, or where no folder is named the
// demo department with its past.
func openCopiesOrDemo(ctx context.Context, h *home, s streams) ([]opened, *store.DB, error) {
	if h.dir != "" {
		return openCopies(ctx, h, s)
	}
	open, err := openDemoDesk()
	if err != nil {
		return nil, nil, err
	}
	o, err := openDemo(ctx, open.desk, bot.SystemClock{}, slog.New(slog.DiscardHandler))
	if err != nil {
		return nil, nil, err
	}
	return []opened{open}, o.db, nil
}

// requestToWrite is the draft, or the request of a number; nil where the department
// has none of that number.
func requestToWrite(ctx context.Context, desk *command.Desk, books command.Books, number string, now time.Time) (request written, name, total string, err error) {
	currency := desk.Department.Currency
	if number == "" {
		draft, err := command.YearlyRequest(ctx, desk, books, now)
		if err != nil {
			return nil, "", "", err
		}
		return draft, fmt.Sprintf("request-%d-draft", draft.Year), budget.Money(draft.OfYear(draft.Year).Total, currency), nil
	}
	past, err := command.Requests(ctx, desk, books)
	if err != nil {
		return nil, "", "", err
	}
	frozen, ok := budget.Find(past, number)
	if !ok {
		return nil, "", "", nil
	}
	return frozen, "request-" + number, budget.Money(frozen.Request.OfYear(frozen.Request.Year).Total, currency), nil
}

// writeRequest writes a request in each form.
func writeRequest(path string, request written, p budget.Presentation) error {
	book := request.Workbook(p)
	if err := writeFile(path+".xlsx", func(w io.Writer) error { return sheet.WriteXLSX(w, book) }); err != nil {
		return err
	}
	if err := writeFile(path+".pdf", func(w io.Writer) error { return request.PDF(w, p) }); err != nil {
		return err
	}
	for _, table := range book.Tables {
		name := strings.ReplaceAll(strings.ToLower(table.Name), " ", "-")
		if err := writeFile(path+"-"+name+".csv", func(w io.Writer) error { return sheet.WriteCSV(w, table) }); err != nil {
			return err
		}
	}
	return nil
}

// writeFigures writes the programme's pictures, each with its words beside it.
func writeFigures(ctx context.Context, desk *command.Desk, books command.Books, path string, now time.Time) error {
	figures, err := command.Figures(ctx, desk, books, now)
	if err != nil {
		return err
	}
	for _, f := range figures {
		for ending, content := range map[string][]byte{".png": f.PNG, ".svg": f.SVG, ".txt": []byte(f.Alt + "\n")} {
			if err := writeFile(path+"-"+f.Name+ending, func(w io.Writer) error {
				_, err := w.Write(content)
				return err
			}); err != nil {
				return err
			}
		}
	}
	return nil
}
