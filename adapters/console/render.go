package console

import (
	"fmt"
	"strings"

	"kitbell/bot"
)

// look is how things are shown here.
type look struct {
	colour bool
	plain  bool // for screen readers
}

// lookOf takes colour only where a terminal shows it and nobody minds.
func lookOf(o Options) look {
	_, file := terminalFile(o.Out)
	colour := (o.Raw || file) && !o.Plain && o.Getenv("NO_COLOR") == "" && o.Getenv("TERM") != "dumb"
	return look{colour: colour, plain: o.Plain}
}

// The only escape sequences that the terminal is sent with a message.
const (
	bold  = "\x1b[1m"
	dim   = "\x1b[2m"
	green = "\x1b[32m"
	reset = "\x1b[0m"
)

func (l look) paint(code, text string) string {
	if !l.colour || code == "" || text == "" {
		return text
	}
	return code + text + reset
}

// message is a reply with what this terminal adds to it.
type message struct {
	heading string // whom it is for, where that is not plain
	reply   bot.Reply
	files   []string // of the pictures, in their order; empty where there is none
}

// message renders a message and the gap behind it. All that Reply.Plain says is
// there, in the same order and words.
func (l look) message(m message, width int) string {
	r := m.reply
	blocks := [][]string{
		append(l.heading(m.heading), l.top(r, width)...),
		l.steps(r.Steps, width),
		l.fields(r.Fields, width),
		l.pictures(r.Pictures, m.files, width),
		l.buttons(r.Buttons, width),
	}
	gap := len(r.Steps)+len(r.Fields) > 0 // short answers stay close together
	var lines []string
	for _, block := range blocks {
		if gap && len(lines) > 0 && len(block) > 0 {
			lines = append(lines, "")
		}
		lines = append(lines, block...)
	}
	return strings.Join(lines, "\n") + "\n\n"
}

func (l look) heading(text string) []string {
	if text == "" {
		return nil
	}
	return []string{l.paint(green, text)}
}

func (l look) top(r bot.Reply, width int) []string {
	var lines []string
	if r.Title != "" {
		for _, line := range wrap(clean(r.Title), width, 0, 0) {
			lines = append(lines, l.paint(bold, line))
		}
	}
	if r.Text != "" {
		lines = append(lines, wrap(clean(r.Text), width, 0, 0)...)
	}
	return lines
}

func (l look) steps(steps []string, width int) []string {
	var lines []string
	for i, step := range steps {
		label := fmt.Sprintf("%d. ", i+1)
		lines = append(lines, l.labelled("", label, clean(step), width, len(label))...)
	}
	return lines
}

func (l look) fields(fields []bot.Field, width int) []string {
	var lines []string
	for _, f := range fields {
		lines = append(lines, l.labelled(bold, oneLine(f.Name)+": ", clean(f.Value), width, 2)...)
	}
	return lines
}

func (l look) pictures(pictures []bot.Picture, files []string, width int) []string {
	var lines []string
	for i, p := range pictures {
		lines = append(lines, l.labelled(dim, "Picture: ", clean(p.Alt), width, 2)...)
		if i < len(files) && files[i] != "" {
			lines = append(lines, "  "+clean(files[i])) // never broken: it is there to be opened
		}
	}
	return lines
}

// labelled is a paragraph behind a label, its other lines indented by hang.
func (l look) labelled(code, label, text string, width, hang int) []string {
	lines := wrap(text, width, columns(label), hang)
	lines[0] = strings.TrimRight(l.paint(code, label)+lines[0], " ")
	return lines
}

func (l look) buttons(all []bot.Button, width int) []string {
	if len(all) == 0 {
		return nil
	}
	pieces := make([]string, len(all))
	for i, b := range all {
		pieces[i] = fmt.Sprintf("[%d] %s", i+1, oneLine(b.Label))
		if l.plain {
			pieces[i] = fmt.Sprintf("Button %d: %s", i+1, oneLine(b.Label))
		}
	}
	if l.plain {
		return pieces
	}
	lines := fill(pieces, "  ", width, 0)
	for i := range lines {
		lines[i] = l.paint(bold, lines[i])
	}
	return lines
}

// paragraph renders lines of the terminal's own and the gap behind them.
func (l look) paragraph(texts []string, width int) string {
	var lines []string
	for _, text := range texts {
		lines = append(lines, wrap(clean(text), width, 0, 2)...)
	}
	return strings.Join(lines, "\n") + "\n\n"
}

func (l look) onlyFor(name string) string { return "(only " + oneLine(name) + ")" }

func (l look) postedIn(channel, when string) string {
	if when != "" {
		when = ", " + when
	}
	if l.plain {
		return "Posted in " + l.channel(channel) + when + ":"
	}
	return "→ " + l.channel(channel) + when
}

func (l look) channel(id string) string {
	name := strings.TrimPrefix(oneLine(id), "#")
	switch {
	case name == "":
		return "no channel"
	case l.plain:
		return "channel " + name
	}
	return "#" + name
}

// prompt says who speaks and where, or next to nothing on a narrow screen.
func (l look) prompt(at Person, width int) string {
	end := "> "
	if l.plain {
		end = ": "
	}
	prompt := oneLine(at.name()) + ", " + l.channel(at.Channel) + end
	if width > 0 && columns(prompt) > width/2 {
		return end
	}
	return prompt
}
