package training_test

import (
	"encoding/csv"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/training"
)

func TestNeutral(t *testing.T) {
	for _, row := range []struct{ name, cell, want string }{
		{"empty", "", ""},
		{"words", "Inward latches", "Inward latches"},
		{"a number", "2.5", "2.5"},
		{"a formula", "=1+1", "'=1+1"},
		{"a sum", "+1", "'+1"},
		{"a minus", "-1", "'-1"},
		{"a function of old", "@SUM(A1)", "'@SUM(A1)"},
		{"after blanks", "  =1+1", "'  =1+1"},
		{"after a blank that does not break", "\u00a0=1+1", "'\u00a0=1+1"},
		{"after a tab", "\t=1+1", "\t'=1+1"},
		{"after a line's end", "\r\n=1+1", "\r\n'=1+1"},
		{"a wide sign", "＝1+1", "'＝1+1"},
		{"a sign in the middle", "1=1", "1=1"},
		{"after a semicolon", "a;=1;b; -2", "a;'=1;b;' -2"},
		{"after a quote", `a;"=1`, `a;'"=1`},
	} {
		if got := training.Neutral(row.cell); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}

// Whatever a cell holds, what is read back is it, but for apostrophes,
// and no reader that splits at commas, semicolons or tabs sees a formula.
func FuzzWriteCSV(f *testing.F) {
	for _, seed := range []string{"", "=1", "a;=1", "a\"\n=1,", " \t@x", "\ufeff-2", "plain"} {
		f.Add(seed, "x")
	}
	f.Fuzz(func(t *testing.T, one, two string) {
		var out strings.Builder
		if err := training.WriteCSV(&out, [][]string{{one, two}}); err != nil {
			t.Fatal(err)
		}
		for _, comma := range []rune{',', ';', '\t'} {
			r := csv.NewReader(strings.NewReader(out.String()))
			r.Comma, r.LazyQuotes, r.FieldsPerRecord = comma, comma != ',', -1
			rows, err := r.ReadAll()
			if err != nil {
				t.Fatalf("%q: %v", out.String(), err)
			}
			if comma == ',' {
				// Go's reader takes every line's end for the short one.
				bare := func(s string) string { return strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "'", "") }
				if len(rows) != 1 || len(rows[0]) != 2 || bare(rows[0][0]) != bare(one) || bare(rows[0][1]) != bare(two) {
					t.Fatalf("%q and %q became %q", one, two, rows)
				}
			}
			for _, cell := range slices.Concat(rows...) {
				if strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@") || strings.HasPrefix(cell, "+") || strings.HasPrefix(cell, "-") {
					t.Fatalf("split at %q, %q holds %q", comma, out.String(), cell)
				}
			}
		}
	})
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }

func TestWriteCSVSaysWhatFailed(t *testing.T) {
	if err := training.WriteCSV(brokenPipe{}, [][]string{{"a"}}); err == nil || !strings.Contains(err.Error(), "write csv") {
		t.Error(err)
	}
}

func title(member string) string { return strings.ToUpper(member) }

// Who took part by hand is named with the hours that count; of a lecture only heads
// are. The first entry stays above its correction.
func TestRecordRows(t *testing.T) {
	lecture := evening()
	lecture.Method, lecture.Subject = training.Lecture, `=HYPERLINK("x")`
	passed := byOfficer(attended("a", "m1"))
	passed.Outcome = training.Passed
	rows := training.RecordRows(training.Sessions([]training.SessionStep{
		held("a", evening()), passed, attended("a", "m2"), corrected("a", longer), struck("a", "m2"), confirmed("a"),
		held("b", lecture), attended("b", "m1"), attended("b", "m3"), confirmed("b"),
		held("c", evening()), attended("c", "m1"),
	}), time.UTC, title)
	var out strings.Builder
	if err := training.WriteCSV(&out, rows); err != nil {
		t.Fatal(err)
	}
	want := strings.ReplaceAll(`"session","entry","date","start","end","place","subject","standard","method","instructor","member","members","unit","platoon","result","hours","entered or confirmed by","on","reason"
"a","first entry","2026-11-28","06:00","08:00","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28",""
"a","correction","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28","the clock was wrong"
"a","struck","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","M2","1","","","","","INES-OKAFOR","2026-11-28","was on a call"
"a","counts","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","M1","1","engine-4","B","passed","2.5","ROWAN-TEAGUE","2026-11-28",""
"b","first entry","2026-11-28","06:00","08:00","Station 4 bay","'=HYPERLINK(""x"")","NFPA 1010, 2024","lecture","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28",""
"b","counts","2026-11-28","06:00","08:00","Station 4 bay","'=HYPERLINK(""x"")","NFPA 1010, 2024","lecture","INES-OKAFOR","","2","engine-4","B","","2","ROWAN-TEAGUE","2026-11-28",""
`, "\n", "\r\n")
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

func TestTallyRows(t *testing.T) {
	records := training.Records(training.Sessions(session("a", now.Add(-2*time.Hour), 100*time.Minute, "engine-4")))
	tally, err := training.TallyHours(records, roster()[:2], 2026, time.UTC, 192*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, row := range training.TallyRows(tally, title) {
		lines = append(lines, strings.Join(row, " "))
	}
	want := []string{
		"who name Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec hours target missing",
		"unit engine-4 0 0 0 0 0 0 0 0 0 0 1.67 0 1.67  ",
		"member M1 0 0 0 0 0 0 0 0 0 0 1.67 0 1.67 192 190.33",
		"member M2 0 0 0 0 0 0 0 0 0 0 0 0 0 192 192",
		"department  0 0 0 0 0 0 0 0 0 0 1.67 0 1.67  ",
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Error(diff)
	}
}
