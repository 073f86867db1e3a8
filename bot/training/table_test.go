package training_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/sheet"
	"kitbell/bot/training"
)

func title(member string) string { return strings.ToUpper(member) }

// Who took part by hand is named with the hours that count; of a lecture only heads
// are. The first entry stays above its correction.
func TestRecordTable(t *testing.T) {
	lecture := evening()
	lecture.Method, lecture.Subject = training.Lecture, `=HYPERLINK("x")`
	passed := byOfficer(attended("a", "m1"))
	passed.Outcome = training.Passed
	records := training.RecordTable(training.Sessions([]training.SessionStep{
		held("a", evening()), passed, attended("a", "m2"), corrected("a", longer), struck("a", "m2"), usedUp("a", "film", 2), confirmed("a"),
		held("b", lecture), attended("b", "m1"), attended("b", "m3"), confirmed("b"),
		held("c", evening()), attended("c", "m1"),
		held("d", evening()), attended("d", "m1"), confirmed("d"), {Key: "d", What: training.SessionCancelled, Reason: "it was another day", By: "rowan-teague", At: now},
	}), time.UTC, func(member, _ string) string { return title(member) }, title)
	var out strings.Builder
	if err := sheet.WriteCSV(&out, records); err != nil {
		t.Fatal(err)
	}
	want := strings.ReplaceAll(`"session","entry","date","start","end","place","subject","standard","method","instructor","member","members","unit","platoon","result","hours","entered or confirmed by","on","reason"
"1","first entry","2026-11-28","06:00","08:00","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28",""
"1","correction","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28","the clock was wrong"
"1","struck","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","1","","","","","INES-OKAFOR","2026-11-28","was on a call"
"1","used up","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","used up: 2 × FILM","","","",""
"1","counts","2026-11-28","06:00","08:30","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","M1","1","engine-4","B","passed","2.5","ROWAN-TEAGUE","2026-11-28",""
"2","first entry","2026-11-28","06:00","08:00","Station 4 bay","'=HYPERLINK(""x"")","NFPA 1010, 2024","lecture","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28",""
"2","counts","2026-11-28","06:00","08:00","Station 4 bay","'=HYPERLINK(""x"")","NFPA 1010, 2024","lecture","INES-OKAFOR","","2","engine-4","B","","2","ROWAN-TEAGUE","2026-11-28",""
"4","first entry","2026-11-28","06:00","08:00","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","INES-OKAFOR","2026-11-28",""
"4","cancelled","2026-11-28","06:00","08:00","Station 4 bay","Inward latches","NFPA 1010, 2024","hands-on","INES-OKAFOR","","","","","","","ROWAN-TEAGUE","2026-11-28","it was another day"
`, "\n", "\r\n")
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

func TestTallyTable(t *testing.T) {
	records := training.Records(training.Sessions(session("a", now.Add(-2*time.Hour), 100*time.Minute, "engine-4")))
	tally, err := training.TallyHours(records, roster()[:2], 2026, time.UTC, 192*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	if err := sheet.WriteCSV(&out, training.TallyTable(tally, title)); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.NewReplacer(`"`, "", ",", " ", "\r", "").Replace(strings.TrimSpace(out.String())), "\n")
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

func usedUp(key, item string, pieces int) training.SessionStep {
	return training.SessionStep{Key: key, What: training.SessionUsed, Used: map[string]int{item: pieces}, By: "ines-okafor", At: now}
}
