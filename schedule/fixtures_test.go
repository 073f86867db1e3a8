package schedule_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// fixtures are the moments that two general-purpose cron libraries of the npm
// registry give; .ci/cron/make.js made them and names the versions.
type fixtures struct {
	First int `json:"first"`
	Rows  []struct {
		Library string  `json:"library"`
		Zone    string  `json:"zone"`
		Spec    string  `json:"spec"`
		Stuck   int     `json:"stuck"` // how often the library gave a moment twice
		Years   [][]any `json:"years"`
		Near    []int64 `json:"near"`
	} `json:"rows"`
}

// Where clocks change, a rule has to be chosen. Ours: a time that the change
// removes comes at the first instant after the gap, a repeated one comes once, at
// its first turn. The libraries chose otherwise, or slip.
const (
	gapLater  = "a removed time is moved on by the length of the gap"
	second    = "a repeated time comes at its second turn"
	both      = "a repeated time comes at both turns"
	skips     = "a time in the hour after the gap, or at a midnight that is removed, is left out"
	halfHours = "it loses its way in a change by half an hour: times that the spec does not name, and the same one again and again"
)

// differences are where a library and we do not agree, and why; a row that is
// not here has to agree in every moment of twenty years.
var differences = map[string]string{
	`croner America/New_York "30 2 * * SUN"`:                   gapLater,
	`croner Europe/London "30 1 * * SUN"`:                      gapLater + "; " + second,
	`croner Australia/Lord_Howe "30 1 * * SUN"`:                second,
	`croner Pacific/Auckland "30 2 * * SUN"`:                   gapLater + "; " + second,
	`croner Pacific/Auckland "0 2,14 * 3,4,10,11 SUN"`:         second,
	`cron-parser America/New_York "30 2 * * SUN"`:              gapLater,
	`cron-parser Europe/London "30 2 * * SUN"`:                 skips,
	`cron-parser Europe/London "30 1 * * SUN"`:                 gapLater,
	`cron-parser Europe/London "0 2,14 * 3,4,10,11 SUN"`:       skips,
	`cron-parser Australia/Lord_Howe "30 2 * * SUN"`:           halfHours,
	`cron-parser Australia/Lord_Howe "30 1 * * SUN"`:           both,
	`cron-parser Australia/Lord_Howe "0 8 1 * *"`:              halfHours,
	`cron-parser Australia/Lord_Howe "0 8 */2 * MON"`:          halfHours,
	`cron-parser Australia/Lord_Howe "0 2,14 * 3,4,10,11 SUN"`: halfHours,
	`cron-parser Pacific/Auckland "30 2 * * SUN"`:              gapLater,
	`cron-parser Africa/Cairo "0 0 * * FRI"`:                   skips,
}

func TestAgainstOtherLibraries(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "cron.json"))
	if err != nil {
		t.Fatal(err)
	}
	var f fixtures
	if err := json.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	agree := 0
	for _, row := range f.Rows {
		name := fmt.Sprintf("%s %s %q", row.Library, row.Zone, row.Spec)
		years := moments(t, row.Spec, row.Zone, f.First, len(row.Years))
		differing := 0
		for i, year := range row.Years {
			count, digest := int(year[0].(float64)), year[1].(string)
			if digestOf(years[i]) == digest {
				continue
			}
			differing++
			if off := count - len(years[i]); off < -1 || off > 1 {
				t.Errorf("%s, %d: %d moments, ours %d: more than one change of the clocks explains", name, f.First+i, count, len(years[i]))
			}
		}
		switch why := differences[name]; {
		case differing > 0 && why == "":
			t.Errorf("%s: differs in %d years, and nobody says why", name, differing)
		case differing == 0 && why != "":
			t.Errorf("%s: agrees, and is said to differ: %s", name, why)
		case differing == 0:
			agree++
		}
	}
	if agree+len(differences) != len(f.Rows) {
		t.Errorf("%d rows agree and %d differ, of %d", agree, len(differences), len(f.Rows))
	}
	t.Logf("%d of %d rows agree in every moment", agree, len(f.Rows))
}

// moments lists, year by UTC year, when a spec comes round, in minutes since 1970.
func moments(t *testing.T, spec, zoneName string, first, years int) [][]string {
	t.Helper()
	all := make([][]string, years)
	from := time.Date(first, 1, 1, 0, 0, 0, 0, time.UTC).Add(-time.Second)
	for _, m := range parse(t, spec).Between(from, time.Date(first+years, 1, 1, 0, 0, 0, 0, time.UTC).Add(-time.Second), zone(t, zoneName)) {
		y := m.At.UTC().Year() - first
		all[y] = append(all[y], strconv.FormatInt(m.At.Unix()/60, 10))
	}
	return all
}

func digestOf(minutes []string) string {
	sum := sha256.Sum256([]byte(strings.Join(minutes, ",")))
	return hex.EncodeToString(sum[:])[:12]
}
