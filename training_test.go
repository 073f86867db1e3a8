package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// What an officer confirmed comes out as records and hours; names stand where
// something was done by hand, and beside hours only when they are asked for.
func TestTraining(t *testing.T) {
	dir, out := filepath.Join(t.TempDir(), "dept"), filepath.Join(t.TempDir(), "tables")
	if code, printed := cli(t, "", "init", dir); code != exitOK {
		t.Fatal(printed)
	}
	for name, row := range map[string]struct {
		args []string
		says string
	}{
		"no department":  {[]string{"--out", out}, "-c DIR"},
		"no folder":      {[]string{"-c", dir}, "--out DIR"},
		"no such year":   {[]string{"-c", dir, "--out", out, "--year", "12"}, "not 12"},
		"words too many": {[]string{"-c", dir, "--out", out, "all"}, ""},
	} {
		if code, printed := cli(t, "", append([]string{"training"}, row.args...)...); code != exitUsage || !strings.Contains(printed, row.says) {
			t.Errorf("%s: exit %d, %s", name, code, printed)
		}
	}
	yesterday := time.Now().AddDate(0, 0, -1).Format(time.DateOnly)
	typed := fmt.Sprintf("session: =slip an inward door; standard 5.3.4; %s 10:00-11:30; at Station 1; hands-on\nthere: First Member passed\n1\n1\n:quit\n", yesterday)
	if code, printed := cli(t, typed, "run", "-c", dir, "--plain"); code != exitOK || !strings.Contains(printed, "confirmed by First Lead") {
		t.Fatalf("exit %d: %s", code, printed)
	}
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(out, "dept-"+name+"-"+yesterday[:4]+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	if code, printed := cli(t, "", "training", "-c", dir, "--out", out, "--year", yesterday[:4]); code != exitOK {
		t.Fatalf("exit %d: %s", code, printed)
	}
	for _, want := range []string{`"'=slip an inward door"`, `"First Member"`, `"passed"`, `"1.5"`, `"5.3.4"`} {
		if records := read("records"); !strings.Contains(records, want) {
			t.Errorf("no %s in %s", want, records)
		}
	}
	if hours := read("hours"); strings.Contains(hours, "First Member") || !strings.Contains(hours, `"ladder-2"`) {
		t.Errorf("hours without names: %s", hours)
	}
	cli(t, "", "training", "-c", dir, "--out", out, "--year", yesterday[:4], "--names", "--xlsx")
	if hours := read("hours"); !strings.Contains(hours, "First Member") {
		t.Errorf("hours with names: %s", hours)
	}
	workbook, err := excelize.OpenFile(filepath.Join(out, "dept-training-"+yesterday[:4]+".xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer workbook.Close()
	records, err := workbook.GetRows("Records")
	if sheets := workbook.GetSheetList(); err != nil || len(sheets) != 2 || sheets[1] != "Hours" || records[1][6] != "=slip an inward door" || records[1][2] != yesterday {
		t.Errorf("the workbook has %v, %v, %v", sheets, records, err)
	}
}
