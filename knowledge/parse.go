package knowledge

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"path"
	"regexp"
	"strings"
	"unicode/utf8"
)

// ParseCard reads one card file. file names it in problems, and its base name
// without .md is the card's id. All mistakes are reported at once; with any,
// the card is nil.
func ParseCard(file string, text []byte) (*Card, []Problem) {
	r := &report{file: file}
	c := &Card{ID: strings.TrimSuffix(path.Base(file), ".md"), File: file}
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	if !validID(c.ID) {
		r.add(0, "a card's file name is lower-case words joined by hyphens, not %q", c.ID)
	}
	if !utf8.Valid(text) {
		r.add(0, "the file is not UTF-8 text")
		return nil, r.problems
	}
	sum := sha256.Sum256(text)
	c.Version = hex.EncodeToString(sum[:6])
	front, body, bodyLine, ok := splitFrontMatter(string(text))
	if !ok {
		r.add(1, "a card starts with front matter between two lines of three hyphens")
		return nil, r.problems
	}
	parseFrontMatter(c, front, r)
	parseBody(c, body, bodyLine, r)
	if len(r.problems) > 0 {
		sortProblems(r.problems)
		return nil, r.problems
	}
	return c, nil
}

func validID(id string) bool {
	return idPattern.MatchString(id)
}

var idPattern = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// frontMatterLine is the file's line on which front matter begins.
const frontMatterLine = 2

func splitFrontMatter(text string) (front, body string, bodyLine int, ok bool) {
	rest, ok := strings.CutPrefix(text, "---\n")
	if !ok {
		return "", "", 0, false
	}
	if body, ok := strings.CutPrefix(rest, "---\n"); ok {
		return "", body, frontMatterLine + 1, true
	}
	front, body, ok = strings.Cut(rest, "\n---\n")
	if !ok {
		return "", "", 0, false
	}
	front += "\n"
	return front, body, frontMatterLine + strings.Count(front, "\n") + 1, true
}

// parseBody reads the intro and the sections. An item's further lines are
// joined to it with spaces.
func parseBody(c *Card, body string, line int, r *report) {
	b := bodyReader{card: c, report: r}
	for text := range strings.Lines(body) {
		b.read(strings.TrimRight(text, " \t\n"), line)
		line++
	}
	if c.Intro == "" {
		r.add(0, "the card needs one or two sentences before its first section")
	}
}

type bodyReader struct {
	card   *Card
	report *report
	open   bool // the next plain line continues the last item
}

func (b *bodyReader) read(text string, line int) {
	if strings.HasSuffix(text, ToBeWritten) {
		b.report.add(line, "this is still to be written")
	}
	title, isTitle := strings.CutPrefix(text, "## ")
	switch {
	case text == "":
		b.open = false
	case isTitle:
		b.startSection(strings.TrimSpace(title), line)
	case strings.HasPrefix(text, "#"):
		b.report.add(line, "only titles of the second level (##) divide a card")
	case len(b.card.Sections) == 0:
		b.card.Intro = strings.TrimSpace(b.card.Intro + " " + strings.TrimSpace(text))
	default:
		b.addText(text, line)
	}
}

func (b *bodyReader) startSection(title string, line int) {
	b.open = false
	if b.card.Section(title).Line != 0 {
		b.report.add(line, "the section %q is there twice", title)
	}
	b.card.Sections = append(b.card.Sections, Section{Title: title, Line: line})
}

func (b *bodyReader) addText(text string, line int) {
	section := &b.card.Sections[len(b.card.Sections)-1]
	mark, text := splitMark(text)
	if mark == Paragraph && b.open {
		last := &section.Items[len(section.Items)-1]
		last.Text += " " + text
		return
	}
	section.Items = append(section.Items, Item{Text: text, Line: line, Mark: mark})
	b.open = true
}

var numberMark = regexp.MustCompile(`^[0-9]{1,3}\. +`)

func splitMark(text string) (Mark, string) {
	text = strings.TrimSpace(text)
	if rest, ok := strings.CutPrefix(text, "- "); ok {
		return Bullet, strings.TrimSpace(rest)
	}
	if found := numberMark.FindString(text); found != "" {
		return Numbered, text[len(found):]
	}
	return Paragraph, text
}
