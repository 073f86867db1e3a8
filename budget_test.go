package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// The demo's request comes out in each form, with the same total, and pictures with
// their words; wrong words are refused.
func TestBudget(t *testing.T) {
	out := t.TempDir()
	code, printed := cli(t, "", "budget", "--out", out)
	if code != exitOK || !strings.Contains(printed, "of Tarn Harbor Fire Department into") {
		t.Fatalf("exit %d: %s", code, printed)
	}
	total := strings.TrimSuffix(strings.TrimSpace(printed[strings.LastIndex(printed, ": ")+2:]), ".")
	books, err := filepath.Glob(filepath.Join(out, "*.xlsx"))
	if err != nil || len(books) != 1 {
		t.Fatalf("%v, %v", books, err)
	}
	book, err := excelize.OpenFile(books[0])
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	found := false
	for _, name := range book.GetSheetList() {
		rows, err := book.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			for _, cell := range row {
				found = found || strings.Contains(cell, strings.TrimPrefix(total, "$"))
			}
		}
	}
	if !found {
		t.Errorf("%s stands nowhere in the workbook of %v", total, book.GetSheetList())
	}
	if pdf, err := os.ReadFile(strings.TrimSuffix(books[0], ".xlsx") + ".pdf"); err != nil || !strings.HasPrefix(string(pdf), "%PDF-") {
		t.Errorf("%.8q, %v", pdf, err)
	}
	for _, figure := range []string{"readiness", "shortages", "drills", "spend"} {
		words, err := os.ReadFile(filepath.Join(out, "tarn-harbor-"+figure+".txt"))
		if err != nil || len(words) < 20 {
			t.Errorf("%s: %q, %v", figure, words, err)
		}
		if png, err := os.ReadFile(filepath.Join(out, "tarn-harbor-"+figure+".png")); err != nil || !strings.HasPrefix(string(png), "\x89PNG") {
			t.Errorf("%s: %.4q, %v", figure, png, err)
		}
	}
	for _, row := range []struct {
		args []string
		code int
		says string
	}{
		{nil, exitUsage, "--out DIR"},
		{[]string{"--out", out, "--paper", "napkin"}, exitUsage, "letter or a4"},
		{[]string{"--out", out, "--number", "2028-1"}, exitError, "There is no request 2028-1"},
	} {
		if code, printed := cli(t, "", append([]string{"budget"}, row.args...)...); code != row.code || !strings.Contains(printed, row.says) {
			t.Errorf("%v: exit %d, %s", row.args, code, printed)
		}
	}
}

// A request that was handed in comes out as it was signed.
func TestBudgetOfANumber(t *testing.T) {
	dir, out := started(t), t.TempDir()
	typed := "budget add 2 practice locks at 85.00\nhand in the request\n1\nrequest 2028-1 approved\n:quit\n"
	code, printed := cli(t, typed, "run", "-c", dir, "--plain")
	number := requestNumberIn(printed)
	if code != exitOK || number == "" {
		t.Fatalf("exit %d: %s", code, printed)
	}
	if code, printed := cli(t, "", "budget", "-c", dir, "--number", number, "--out", out); code != exitOK || !strings.Contains(printed, "$178.50") {
		t.Errorf("exit %d: %s", code, printed)
	}
	if _, err := os.Stat(filepath.Join(out, "dept-request-"+number+".xlsx")); err != nil {
		t.Error(err)
	}
}

// requestNumberIn finds the number that a request was handed in under.
func requestNumberIn(printed string) string {
	_, rest, _ := strings.Cut(printed, "Request ")
	number, _, ok := strings.Cut(rest, " is handed in")
	if !ok {
		return ""
	}
	return number
}
