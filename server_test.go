package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/bot/department"
)

// atWork is the program at work on a platform, as kitbell run starts it.
type atWork struct {
	*slackserver.Server
	dir, web string
	out      *safeBuffer
	ctx      context.Context
	stop     func() int // tells it to end, and gives its exit code
	wait     func() int // waits until it ends by itself
}

// safeBuffer is a buffer for several goroutines.
type safeBuffer struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (b *safeBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.all.Write(p)
}

func (b *safeBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.all.String()
}

// slackFile is the file that init writes, with its first station, its programme
// and its lead on the server.
func slackFile(api string) string {
	file := string(department.Start("dept"))
	file = regexp.MustCompile(`(?m)^channels:\n(  - .*\n)+`).ReplaceAllString(file, fmt.Sprintf(`channels:
  - {platform: slack, workspace: T1, id: C1, use: station, station: station-1}
  - {platform: slack, workspace: T1, id: C2, use: programme, listen: true}
platforms:
  - {platform: slack, api: %q}
`, api))
	return strings.Replace(file, "unit: engine-1, platoon: A}", "unit: engine-1, platoon: A, accounts: {slack: U1}}", 1)
}

func startServer(t *testing.T, env map[string]string) *atWork {
	t.Helper()
	server, dir := slackserver.Start(), t.TempDir()
	t.Cleanup(server.Close)
	if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(slackFile(server.URL())), 0o600); err != nil {
		t.Fatal(err)
	}
	return startAt(t, dir, server, env)
}

// startAt starts the program on a folder, with the server's tokens and what else
// stands in env.
func startAt(t *testing.T, dir string, server *slackserver.Server, env map[string]string) *atWork {
	t.Helper()
	w := &atWork{Server: server, dir: dir, out: &safeBuffer{}}
	for name, value := range map[string]string{slackAppToken: slackserver.AppToken, slackBotToken: slackserver.BotToken} {
		t.Setenv(name, value)
	}
	for name, value := range env {
		t.Setenv(name, value)
	}
	w.web = freeAddress(t)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	w.ctx = ctx
	ended, code := make(chan struct{}), 0
	go func() {
		defer close(ended)
		code = dispatch(ctx, []string{"run", "-c", w.dir, "--http", w.web}, streams{strings.NewReader(""), w.out, w.out})
	}()
	w.wait = func() int { <-ended; return code }
	w.stop = func() int { cancel(); return w.wait() }
	t.Cleanup(func() { w.stop() })
	return w
}

func (w *atWork) write(t *testing.T, file string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(w.dir, department.FileName), []byte(file), 0o600); err != nil {
		t.Fatal(err)
	}
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

func (w *atWork) get(t *testing.T, path string) (int, string) {
	t.Helper()
	response, err := http.Get("http://" + w.web + path)
	if err != nil {
		t.Fatalf("%v\n%s", err, w.out)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(body)
}

func (w *atWork) await(t *testing.T, text string) {
	t.Helper()
	if err := w.Await(w.ctx, text); err != nil {
		t.Fatalf("%v\nlog: %s", err, w.out)
	}
}

// From nothing to the first answer in the station's channel.
func TestServerAnswers(t *testing.T) {
	w := startServer(t, nil)
	if _, _, err := w.As("U1").Mention(w.ctx, "C1", "E1 is missing a wood wedge"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "wood wedge")
	if _, err := w.As("U1").Press(w.ctx, "Undo"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "Undone")
	for path, want := range map[string]string{
		"/healthz": "ok", "/readyz": "ok", "/metrics": `kitbell_events_handled_total{outcome="answered",platform="slack"} 2`,
	} {
		if status, body := w.get(t, path); status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("%s: status %d, %s", path, status, body)
		}
	}
	if code := w.stop(); code != exitOK {
		t.Errorf("exit code %d", code)
	}
	for _, hidden := range []string{slackserver.AppToken, slackserver.BotToken, "missing a wood"} {
		if strings.Contains(w.out.String(), hidden) {
			t.Errorf("the log holds %q:\n%s", hidden, w.out)
		}
	}
}

// A press on a message about one line changes that message.
func TestServerChangesAMessage(t *testing.T) {
	w := startServer(t, nil)
	p := w.As("U1")
	if _, _, err := p.Mention(w.ctx, "C1", "E1 is missing the small hook"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "Where did it go?")
	before := len(w.Messages())
	if _, err := p.Press(w.ctx, "Nobody knows"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "not known")
	if w.Calls("chat.update") != 1 || len(w.Messages()) != before {
		t.Errorf("%d updates, %d messages before and %d after:\n%s", w.Calls("chat.update"), before, len(w.Messages()), w.Shown())
	}
}

// A question is answered in a thread below it, and the thread goes on with it.
func TestServerThreads(t *testing.T) {
	w := startServer(t, nil)
	p := w.As("U1")
	_, ts, err := p.Mention(w.ctx, "C1", "how do I use the wood wedge")
	if err != nil {
		t.Fatal(err)
	}
	w.await(t, "[More]")
	all := w.Messages()
	if last := all[len(all)-1]; last.Thread != ts {
		t.Errorf("answered %+v, not below %s", last, ts)
	}
}

// Without its tokens the program says which one to set, and where from.
func TestServerWithoutTokens(t *testing.T) {
	for _, row := range []struct {
		name, app, bot, file string
		want                 string
	}{
		{"no bot token", "xapp-1", "", "", slackBotToken},
		{"no app token", "", "xoxb-1", "", slackAppToken},
		{"a file that everybody reads", "xapp-1", "", "open", "chmod 600"},
		{"a file that is not there", "xapp-1", "", "gone", "not there"},
		{"a folder", "xapp-1", "", ".", "names a folder"},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(slackFile("http://127.0.0.1:9/")), 0o600); err != nil {
				t.Fatal(err)
			}
			t.Setenv(slackAppToken, row.app)
			t.Setenv(slackBotToken, row.bot)
			if row.file != "" {
				path := filepath.Join(dir, row.file)
				t.Setenv(slackBotToken+"_FILE", path)
				if row.file == "open" {
					if err := os.WriteFile(path, []byte("xoxb-1"), 0o644); err != nil {
						t.Fatal(err)
					}
				}
			}
			var out bytes.Buffer
			code := dispatch(t.Context(), []string{"run", "-c", dir}, streams{strings.NewReader(""), &out, &out})
			if code != exitError || !strings.Contains(out.String(), row.want) {
				t.Errorf("code %d: %s", code, out.String())
			}
		})
	}
}

// A platform that is lost for good ends with what to mend.
func TestServerWithARefusedToken(t *testing.T) {
	w := startServer(t, map[string]string{slackAppToken: "xapp-wrong"})
	if code := w.wait(); code == exitOK || !strings.Contains(w.out.String(), "take a new one") {
		t.Errorf("exit code %d: %s", code, w.out)
	}
}

// A hang-up signal takes changed files up at once, and what is said meanwhile is
// answered.
func TestServerReloadsOnHangUp(t *testing.T) {
	w := startServer(t, nil)
	if _, _, err := w.As("U1").Mention(w.ctx, "C1", "queue"); err != nil {
		t.Fatal(err)
	}
	if err := w.AwaitThat(w.ctx, func() bool { return len(w.Messages()) > 1 }); err != nil { // it works, so it hears signals
		t.Fatal(err)
	}
	w.write(t, strings.Replace(slackFile(w.URL()), "name: 1 Main Street", "name: 1 Mill Street", 1))
	if err := syscall.Kill(os.Getpid(), syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	if _, _, err := w.As("U1").Mention(w.ctx, "C1", "E1 is missing a wood wedge"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "wood wedge")
	for !strings.Contains(w.out.String(), "files read again, as asked") {
		if w.ctx.Err() != nil {
			t.Fatalf("not taken up: %s", w.out)
		}
		runtime.Gosched()
	}
	if before, _, _ := strings.Cut(w.out.String(), "files read again, as asked"); !strings.Contains(before, "files taken up") {
		t.Errorf("the change was not taken up by then: %s", w.out)
	}
}

// preflight asks the platform, and says what to mend.
func TestPreflightOfPlatforms(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(slackFile(server.URL())), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv(slackAppToken, slackserver.AppToken)
	t.Setenv(slackBotToken, slackserver.BotToken)
	if out := printed(t, exitError, "preflight", "-c", dir); !strings.Contains(out, "channels:history") || !strings.Contains(out, "1 thing to mend") {
		t.Errorf("said %s", out)
	}
	server.Grant(slackserver.Scopes + ",channels:history,files:read,groups:history,reactions:read")
	if out := printed(t, exitOK, "preflight", "-c", dir); !strings.Contains(out, "slack: post in channel C1: as it must be.") {
		t.Errorf("said %s", out)
	}
}
