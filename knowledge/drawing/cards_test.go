package drawing_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"kitbell/knowledge/drawing"
)

// undrawn are the hardware cards without a drawing, and why.
var undrawn = map[string]string{
	"vehicle-doors": "the card says to leave this kit's tools out of car doors; a drawing would invite them in",
}

type card struct {
	id, kind, drawing string
}

var drawingKey = regexp.MustCompile(`(?m)^drawing:\n((?:[ \t].*\n)+)`)

func readCards(t testing.TB) []card {
	t.Helper()
	files, err := filepath.Glob("../cards/*.md")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cards: %v", err)
	}
	var cards []card
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		c := card{id: strings.TrimSuffix(filepath.Base(file), ".md")}
		if kind := regexp.MustCompile(`(?m)^kind: (\w+)`).FindSubmatch(text); kind != nil {
			c.kind = string(kind[1])
		}
		if found := drawingKey.FindSubmatch(text); found != nil {
			c.drawing = string(found[1])
		}
		cards = append(cards, c)
	}
	return cards
}

func TestEveryTechniqueAndLockIsDrawn(t *testing.T) {
	for _, c := range readCards(t) {
		wanted := c.kind == "technique" || c.kind == "hardware" && undrawn[c.id] == ""
		if wanted && c.drawing == "" {
			t.Errorf("%s has no drawing", c.id)
		}
	}
}

func TestCardScenes(t *testing.T) {
	for _, c := range readCards(t) {
		if c.drawing == "" {
			continue
		}
		t.Run(c.id, func(t *testing.T) {
			t.Parallel()
			s, err := drawing.Parse([]byte(c.drawing))
			if err != nil {
				t.Fatal(err)
			}
			checkLayout(t, s)
			checkDraws(t, s)
			if l := drawing.LayOut(s); l.Placed != l.Wanted {
				t.Errorf("%d of %d labels found room", l.Placed, l.Wanted)
			}
			if alt := s.Alt(); strings.Count(alt, ".") < 2 || strings.ContainsAny(alt, "{}") {
				t.Errorf("alt text says too little or holds a blank: %q", alt)
			}
		})
	}
}

// reporter is what tests of the library and of rapid have in common.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
}

// checkLayout holds for every scene: words are inside the canvas and apart.
func checkLayout(t reporter, s drawing.Scene) {
	t.Helper()
	l := drawing.LayOut(s)
	for a, boxA := range l.Words {
		if boxA.X0 < l.Canvas.X0 || boxA.Y0 < l.Canvas.Y0 || boxA.X1 > l.Canvas.X1 || boxA.Y1 > l.Canvas.Y1 {
			t.Errorf("%q runs out of the canvas: %v in %v", a, boxA, l.Canvas)
		}
		for b, boxB := range l.Words {
			if a < b && boxA.X0 < boxB.X1 && boxB.X0 < boxA.X1 && boxA.Y0 < boxB.Y1 && boxB.Y0 < boxA.Y1 {
				t.Errorf("%q and %q overlap", a, b)
			}
		}
	}
}

func checkDraws(t testing.TB, s drawing.Scene) {
	t.Helper()
	for _, dark := range []bool{false, true} {
		picture, err := s.PNG(drawing.Options{Width: 160, Dark: dark})
		if err != nil {
			t.Fatal(err)
		}
		decoded, err := png.Decode(bytes.NewReader(picture))
		if err != nil || decoded.Bounds().Dx() != 160 {
			t.Errorf("PNG is %v wide: %v", decoded.Bounds(), err)
		}
		svg, err := s.SVG(drawing.Options{Dark: dark})
		if err != nil {
			t.Fatal(err)
		}
		decoder := xml.NewDecoder(bytes.NewReader(svg))
		for {
			if _, err := decoder.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("SVG is not well formed: %v", err)
			}
		}
		if !bytes.Contains(svg, []byte(`role="img"`)) || !bytes.Contains(svg, []byte("<desc>")) {
			t.Error("SVG has no words for a screen reader")
		}
		if bytes.Count(svg, []byte("Arial,Helvetica")) != bytes.Count(svg, []byte("<text")) {
			t.Error("SVG has words without a font to fall back on")
		}
	}
}

// TestAltReadsEasily holds the words of all cards under grade 8 by the
// Flesch-Kincaid formula (Kincaid and others, 1975): 0.39 words a sentence +
// 11.8 syllables a word - 15.59. Syllables are counted as groups of vowels.
func TestAltReadsEasily(t *testing.T) {
	vowels := regexp.MustCompile(`[aeiouy]+`)
	var sentences, words, syllables int
	for _, c := range readCards(t) {
		if c.drawing == "" {
			continue
		}
		s, err := drawing.Parse([]byte(c.drawing))
		if err != nil {
			t.Fatal(err)
		}
		for sentence := range strings.SplitSeq(strings.TrimSuffix(s.Alt(), "."), ". ") {
			fields := strings.Fields(sentence)
			if len(fields) > 25 {
				t.Errorf("%s: %d words in %q", c.id, len(fields), sentence)
			}
			sentences++
			words += len(fields)
			for _, word := range fields {
				word = strings.TrimSuffix(strings.ToLower(word), "e")
				syllables += max(1, len(vowels.FindAllString(word, -1)))
			}
		}
	}
	grade := 0.39*float64(words)/float64(sentences) + 11.8*float64(syllables)/float64(words) - 15.59
	t.Logf("grade %.1f over %d sentences", grade, sentences)
	if grade > 8 {
		t.Errorf("alt text reads at grade %.1f", grade)
	}
}
