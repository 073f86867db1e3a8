package budget_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf16"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"kitbell/bot/budget"
)

// setText is a text where it stands on a page, in points from the left and from the
// foot.
type setText struct {
	page        int
	x, y, width float64
	words       string
}

var (
	stream  = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)
	drawing = regexp.MustCompile(`(?s)BT /F(\w+) ([0-9.]+) Tf ET|BT ([-0-9.]+) ([-0-9.]+) Td \(((?:[^\\)]|\\.)*)\) Tj`)
	unquote = strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\r`, "\r")
)

// textOf reads the texts of a document back, page by page. The regular font is the
// one that a page sets first.
func textOf(t fataler, data []byte) []setText {
	measure := fpdf.New("P", "pt", "a4", "")
	measure.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	measure.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	var texts []setText
	page, regular := 0, ""
	for _, found := range stream.FindAllSubmatch(data, -1) {
		content := inflate(found[1])
		if !bytes.Contains(content, []byte(" Td (")) {
			continue // a font
		}
		page++
		for _, op := range drawing.FindAllSubmatch(content, -1) {
			if len(op[1]) > 0 {
				if regular == "" {
					regular = string(op[1])
				}
				measure.SetFont("sans", map[bool]string{false: "B"}[string(op[1]) == regular], number(t, op[2]))
				continue
			}
			words := utf16be(unquote.Replace(string(op[5])))
			texts = append(texts, setText{page, number(t, op[3]), number(t, op[4]), measure.GetStringWidth(words), words})
		}
	}
	return texts
}

func inflate(data []byte) []byte {
	reader, err := zlib.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil
	}
	content, _ := io.ReadAll(reader)
	return content
}

func number(t fataler, digits []byte) float64 {
	x, err := strconv.ParseFloat(string(digits), 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func utf16be(raw string) string {
	units := make([]uint16, len(raw)/2)
	for i := range units {
		units[i] = uint16(raw[2*i])<<8 | uint16(raw[2*i+1])
	}
	return string(utf16.Decode(units))
}

// printed is a request as PDF.
func printed(t fataler, r interface {
	PDF(io.Writer, budget.Presentation) error
}, p budget.Presentation) []byte {
	var out bytes.Buffer
	if err := r.PDF(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// words are the texts one after the other.
func words(texts []setText) string {
	var all []string
	for _, t := range texts {
		all = append(all, t.words)
	}
	return strings.Join(all, "\n")
}
