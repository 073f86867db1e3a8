package understand_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot/measure"
)

func TestSets(t *testing.T) {
	reader := newReader(t)
	reports, doors := os.Getenv("REPORTS"), os.Getenv("DOORS")
	for _, file := range strings.Fields(reports) {
		f, _ := os.Open(filepath.Clean(file))
		cases, err := measure.ReadReports(f)
		if err != nil {
			t.Fatal(err)
		}
		score, _ := measure.Reports(reader, cases, os.Stdout)
		score.Print(os.Stdout)
	}
	for _, file := range strings.Fields(doors) {
		f, _ := os.Open(filepath.Clean(file))
		cases, err := measure.ReadDoors(f)
		if err != nil {
			t.Fatal(err)
		}
		score, _ := measure.Doors(reader, cases, os.Stdout)
		score.Print(os.Stdout)
	}
}
