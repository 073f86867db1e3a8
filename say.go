package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/bot/understand"
)

// sayPlatform is the name of the place that say speaks from.
const sayPlatform = "say"

// runSay sends messages through the bot with no chat platform: one from the
// arguments, or one a line from the standard input.
func runSay(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("say", flag.ContinueOnError)
	asJSON := flags.Bool("json", false, "print one JSON object for each message")
	fresh := flags.Bool("fresh", false, "give every message a store of its own")
	home := homeFlags(flags, "folder of a department (the demo department)")
	as := flags.String("as", "", "id or name of who speaks (an anonymous member)")
	if err := parse(flags, args, -1, s); err != nil {
		return err
	}
	v, err := openSayer(ctx, home, slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelError})))
	if err != nil {
		return err
	}
	defer v.close()
	v.fresh = *fresh
	if *as != "" {
		if v.member, err = speakerOf(v.desk.Department, *as); err != nil {
			return err
		}
	}
	print := printText
	if *asJSON {
		print = printJSON
	}
	text := strings.Join(flags.Args(), " ")
	if text != "-" {
		return print(s.out, v.say(ctx, message{Text: text}))
	}
	if *asJSON {
		return v.sayLines(ctx, s.in, func(a answer) error { return printJSON(s.out, a) })
	}
	return v.sayPlain(ctx, s)
}

// sayPlain prints an answer for each line, goes on after one that could not be
// taken, and says at the end that there was one.
func (v *sayer) sayPlain(ctx context.Context, s streams) error {
	refused := 0
	err := v.sayLines(ctx, s.in, func(a answer) error {
		err := printText(s.out, a)
		var forPerson *bot.UserError
		if errors.As(err, &forPerson) {
			refused++
			_, err = fmt.Fprintln(s.err, forPerson.Say)
		}
		return err
	})
	if err == nil && refused > 0 {
		return &bot.UserError{Say: fmt.Sprintf("%d of the messages could not be taken.", refused)}
	}
	return err
}

// sayer puts messages through the bot and collects what comes of each.
type sayer struct {
	desk   *command.Desk
	db     *store.DB
	log    *slog.Logger
	fresh  bool
	member department.Member // who speaks; zero for an anonymous member
	count  int
	dir    string // of pictures, made when the first one is drawn
}

// openSayer opens the demo department on an empty throw-away store, or the
// department of a home on a throw-away copy of its database: nothing that is said
// here reaches it.
func openSayer(ctx context.Context, h *home, log *slog.Logger) (*sayer, error) {
	o := store.Options{Log: log, Clock: bot.SystemClock{}}
	if h.dir != "" {
		all, err := openDesks(h.dir, os.Stderr)
		if err != nil {
			return nil, err
		}
		db, err := h.openCopy(ctx, o)
		return &sayer{desk: all[0].desk, db: db, log: log}, err
	}
	open, err := openDemoDesk()
	if err != nil {
		return nil, err
	}
	db, err := store.OpenTemp(ctx, o)
	return &sayer{desk: open.desk, db: db, log: log}, err
}

func (v *sayer) close() { v.db.Close() }

// message is one line of input: plain text is a message with Text alone.
type message struct {
	Text         string  `json:"text"`
	Press        string  `json:"press"`
	From         *sender `json:"from"`
	Conversation name    `json:"conversation"`
}

// name is a JSON string, or a number taken as one.
type name string

// UnmarshalJSON reads "7" and 7 alike.
func (n *name) UnmarshalJSON(data []byte) error {
	var number json.Number
	if err := json.Unmarshal(data, &number); err != nil {
		return errors.New("a conversation is a string or a number")
	}
	*n = name(number)
	return nil
}

// sender says who speaks. Shift is another word for the platoon.
type sender struct {
	Member  string `json:"member"`
	Unit    string `json:"unit"`
	Platoon string `json:"platoon"`
	Shift   string `json:"shift"`
}

// sayLines reads messages of any length, one a line, and hands each answer on
// before it reads the next.
func (v *sayer) sayLines(ctx context.Context, in io.Reader, each func(answer) error) error {
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("read message: %w", err)
		}
		if line = strings.TrimRight(line, "\r\n"); line != "" || err == nil {
			if err := each(v.sayLine(ctx, line)); err != nil {
				return fmt.Errorf("print answer: %w", err)
			}
		}
		if err != nil || ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

func (v *sayer) sayLine(ctx context.Context, line string) answer {
	var m message
	if !strings.HasPrefix(strings.TrimSpace(line), "{") {
		m.Text = line
	} else if err := json.Unmarshal([]byte(line), &m); err != nil {
		return failed(message{Text: line}, fmt.Errorf("not a JSON message: %w", err))
	}
	return v.say(ctx, m)
}

// say puts one message through screen, inbox, understanding, command and store.
func (v *sayer) say(ctx context.Context, m message) answer {
	began := time.Now()
	e, err := v.event(m)
	if err != nil {
		return failed(m, err)
	}
	desk := v.desk
	if v.fresh {
		desk = desk.As(fmt.Sprintf("%s-%d", desk.Department.Slug, v.count))
	}
	e.Department = desk.Department.Slug
	o := newOffice(newDesks(desk), v.db, bot.SystemClock{}, v.log)
	out, err := o.intake.Now(ctx, e)
	took := time.Since(began)
	if err != nil {
		return failed(m, err)
	}
	a := v.answer(ctx, out)
	a.MS = float64(took.Microseconds()) / 1000
	return a
}

// failed is the answer to a message that could not be taken: empty, and why.
func failed(m message, err error) answer {
	a := emptyAnswer(m.Text)
	a.Error = err.Error()
	var forPerson *bot.UserError
	if errors.As(err, &forPerson) {
		a.Error = forPerson.Say
	}
	return a
}

// event makes the event of a message. Conversations hear only themselves; a
// press speaks for whoever the conversation's messages spoke for.
func (v *sayer) event(m message) (bot.Event, error) {
	v.count++
	channel := string(m.Conversation)
	if channel == "" {
		channel = "1"
	}
	e := bot.Event{
		ID: fmt.Sprintf("say-%d", v.count), Kind: bot.Said, At: time.Now(), Text: m.Text, Direct: true,
		From: bot.Speaker{ID: "anonymous", Member: v.member.ID}, Where: bot.Address{Platform: sayPlatform, Channel: channel},
	}
	if m.Press != "" {
		e.Kind, e.Press, e.Text = bot.Pressed, m.Press, ""
	}
	if m.From != nil {
		if err := v.speak(&e, *m.From); err != nil {
			return e, err
		}
	}
	return e, nil
}

// speak fills in who speaks. A rig may be named as crews name it.
func (v *sayer) speak(e *bot.Event, from sender) error {
	d := v.desk.Department
	if _, ok := d.Member(from.Member); from.Member != "" && !ok {
		return fmt.Errorf("from: there is no member %q", from.Member)
	}
	if _, ok := d.Unit(from.Unit); from.Unit != "" && !ok {
		read := v.desk.Reader.Read(from.Unit, understand.Context{})
		if !read.UnitNamed {
			return fmt.Errorf("from: there is no unit %q", from.Unit)
		}
		from.Unit = read.Unit
	}
	if from.Platoon == "" {
		from.Platoon = from.Shift
	}
	for _, p := range d.Rotation.Platoons() {
		if strings.EqualFold(p, from.Platoon) {
			from.Platoon = p
		}
	}
	if from.Platoon != "" && !d.Rotation.Has(from.Platoon) {
		return fmt.Errorf("from: there is no platoon %q", from.Platoon)
	}
	if from.Member != "" {
		e.From.Member = from.Member
	}
	e.From.Unit, e.From.Platoon = from.Unit, from.Platoon
	return nil
}

// draw saves a picture and gives its path.
func (v *sayer) draw(ctx context.Context, p bot.Picture) (string, error) {
	png, err := drawScene(ctx, v.desk, v.db, p.Scene)
	if err != nil {
		return "", fmt.Errorf("draw picture: %w", err)
	}
	if v.dir == "" {
		if v.dir, err = os.MkdirTemp("", "kitbell-pictures-*"); err != nil {
			return "", fmt.Errorf("make folder for pictures: %w", err)
		}
	}
	name := filepath.Join(v.dir, strings.ReplaceAll(p.Scene, ":", "-")+".png")
	if err := os.WriteFile(name, png, 0o600); err != nil {
		return "", fmt.Errorf("save picture: %w", err)
	}
	return name, nil
}
