package department_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"kitbell/bot/department"
)

func TestRetention(t *testing.T) {
	d, problems := load(good + `retention:
  photos: 365
  audit-texts: 1825
  hold: {until: 2026-03-08, reason: an auditor asked, by: first-lead}
`)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	r := d.Retention
	if len(r.Days) != 2 || r.Days[department.KeptPhotos] != 365 || r.Days[department.KeptAuditTexts] != 1825 || r.Hold.By != "first-lead" || r.Hold.Reason != "an auditor asked" {
		t.Errorf("%+v", r)
	}
	end := time.Date(2026, 3, 9, 0, 0, 0, 0, d.Zone)
	if !r.Hold.Holds(end.Add(-time.Nanosecond)) || r.Hold.Holds(end) {
		t.Errorf("the hold ends at %s, want the end of its last day", r.Hold.Until)
	}
	if d, problems = load(good); len(problems) > 0 || d.Retention.Days != nil || d.Retention.Hold.Holds(end) {
		t.Errorf("a file without it: %+v, %v", d.Retention, problems)
	}
}

// What counts as evidence cannot be removed by a setting, nor what the program
// itself looks back to.
func TestRetentionRefuses(t *testing.T) {
	for _, row := range []struct{ name, section, say string }{
		{"evidence", "uses: 30", "evidence of the yearly request"},
		{"hours", "sessions: 3650", "confirmed hours"},
		{"signed records", "task-book: 30", "signed training records"},
		{"the audit", "audit: 30", "audit-texts removes its words"},
		{"too short for deliveries that come again", "events: 1", "from 7"},
		{"too short for what a crew remembers", "drill-answers: 90", "from 730"},
		{"an unknown kind", "foto: 30", "unknown key"},
		{"a hold without a reason", "hold: {until: 2026-03-08, by: first-lead}", "reason"},
		{"a hold of nobody", "hold: {until: 2026-03-08, reason: x, by: nobody}", "no member"},
		{"a hold until no day", "hold: {until: 2026-02-30, reason: x, by: first-lead}", "no day"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, problems := load(good + "retention:\n  " + row.section + "\n")
			if problems.Err() == nil || !strings.Contains(problems.Err().Error(), row.say) {
				t.Errorf("got %v, want %q", problems, row.say)
			}
		})
	}
}

// The commented section of a new file is one that can be used as it stands, and
// names every kind.
func TestStartRetention(t *testing.T) {
	text := string(department.Start("dept"))
	_, section, ok := strings.Cut(text, "# retention:\n")
	if !ok {
		t.Fatal("a new file says nothing of it")
	}
	d, problems := load(strings.Replace(text, "# retention:\n"+section, "retention:\n"+regexp.MustCompile(`(?m)^# ?`).ReplaceAllString(section, ""), 1))
	if problems.Err() != nil {
		t.Fatal(problems)
	}
	for _, kind := range department.KeptKinds() {
		if d.Retention.Days[kind] == 0 {
			t.Errorf("a new file does not name %s", kind)
		}
	}
	if d.Retention.Hold.Reason == "" {
		t.Error("a new file does not show a hold")
	}
}
