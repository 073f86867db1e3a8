package label_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot/label"
)

var made = time.Date(2026, 11, 27, 12, 0, 0, 0, time.UTC)

func TestPDF(t *testing.T) {
	for _, n := range []int{0, 1, 14, 15, 60} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			var labels []label.Label
			for i := range n {
				labels = append(labels, label.Label{Line: i + 1, Rig: "Engine 4", Station: "4 Orchard Hill", Count: 2, Item: strings.Repeat("latch film ", 1+i%9)})
			}
			var w bytes.Buffer
			if err := label.PDF(&w, label.Letter, made, labels); err != nil {
				t.Fatal(err)
			}
			if !bytes.HasPrefix(w.Bytes(), []byte("%PDF-")) {
				t.Error("no PDF")
			}
			if pages, want := bytes.Count(w.Bytes(), []byte("/Type /Page\n")), max(1, label.Sheets(n)); pages != want {
				t.Errorf("%d pages, want %d", pages, want)
			}
		})
	}
}
