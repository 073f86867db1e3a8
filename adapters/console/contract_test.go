package console_test

import (
	"context"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/console"
	"kitbell/bot"
)

var ines = console.Person{
	Speaker: bot.Speaker{ID: "ines-okafor", Member: "ines-okafor", Name: "Ines Okafor"},
	Channel: "station-6",
}

func TestContractOnAPipe(t *testing.T) {
	adaptertest.Run(t, func(t *testing.T) adaptertest.Platform { return open(t, false) })
}

func TestContractOnATerminal(t *testing.T) {
	adaptertest.Run(t, func(t *testing.T) adaptertest.Platform { return open(t, true) })
}

func open(t *testing.T, raw bool) adaptertest.Platform {
	in, typed := io.Pipe()
	t.Cleanup(func() { typed.Close() })
	enter, end := "\n", func() { typed.Close() }
	if raw {
		enter, end = "\r", func() { io.WriteString(typed, "\x04") }
	}
	screen := adaptertest.NewScreen()
	say := func(line string) { io.WriteString(typed, line+enter) }
	shown := func() string { return withoutCodes(screen.String()) }
	return adaptertest.Platform{
		Adapter: console.New(console.Options{In: in, Out: screen, Raw: raw, Department: "tarn-harbor", First: ines, Getenv: noEnv}),
		Here:    bot.Address{Platform: "console", Channel: "station-6"},
		There:   bot.Address{Platform: "console", Channel: "station-4"},
		Say:     say,
		Press:   func(label string) { say(numberOf(shown(), label)) },
		Shown:   shown,
		Await:   func(ctx context.Context, text string) error { return screen.Await(ctx, text) },
		End:     end,
		Once:    true,
	}
}

func noEnv(string) string { return "" }

// withoutCodes takes out the escape sequences that the terminal is sent: each
// ends at its first letter.
func withoutCodes(shown string) string {
	parts := strings.Split(shown, "\x1b[")
	for i := 1; i < len(parts); i++ {
		parts[i] = strings.TrimLeft(parts[i], "0123456789;")[1:]
	}
	return strings.Join(parts, "")
}

func numberOf(shown, label string) string {
	found := regexp.MustCompile(`\[(\d+)\] `+regexp.QuoteMeta(label)).FindAllStringSubmatch(shown, -1)
	if len(found) == 0 {
		panic(fmt.Sprintf("no button %q in %q", label, strings.TrimSpace(shown)))
	}
	return found[len(found)-1][1]
}
