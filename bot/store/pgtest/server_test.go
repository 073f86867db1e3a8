package pgtest_test

import (
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"kitbell/bot/store/pgtest"
)

// doomed tells this test's program to be the one that is killed.
const doomed = "KITBELL_TEST_DOOMED"

// verdict is a test that notes how it ended.
type verdict struct {
	testing.TB
	said string
}

func (v *verdict) Skipf(format string, args ...any)  { v.end("skip: "+format, args...) }
func (v *verdict) Fatalf(format string, args ...any) { v.end("fail: "+format, args...) }

func (v *verdict) end(format string, args ...any) {
	v.said = fmt.Sprintf(format, args...)
	runtime.Goexit()
}

func TestWithoutPostgres(t *testing.T) {
	t.Setenv(pgtest.Programs, t.TempDir())
	for must, want := range map[string]string{
		"":  "skip: skipped: PostgreSQL is not installed (initdb not found)",
		"1": "fail: start PostgreSQL: PostgreSQL is not installed (initdb not found)",
	} {
		t.Setenv(pgtest.Must, must)
		var server pgtest.Server
		v, done := &verdict{TB: t}, make(chan struct{})
		go func() {
			defer close(done)
			server.Database(v)
		}()
		<-done
		if v.said != want {
			t.Errorf("%s=%s: %q, want %q", pgtest.Must, must, v.said, want)
		}
		server.Stop()
	}
}

// TestNothingStays stops a server: its folder is gone, and so is whatever heard
// there.
func TestNothingStays(t *testing.T) {
	var server pgtest.Server
	address := server.Empty(t)
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	server.Stop()
	if err := conn.Ping(t.Context()); err == nil {
		t.Error("the server answers")
	}
	if _, err := os.Stat(folderOf(t, address)); err == nil {
		t.Error("its folder is there")
	}
}

// TestServerDiesWithItsProcess kills a process that started a server and waits until
// the server hangs up.
func TestServerDiesWithItsProcess(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only Linux ends a process with its parent")
	}
	var server pgtest.Server
	if os.Getenv(doomed) == "1" {
		fmt.Println(server.Empty(t))
		os.Stdin.Read(make([]byte, 1)) // for ever: nothing comes
		return
	}
	defer server.Stop()
	server.Empty(t) // skips where there is no PostgreSQL
	program := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestServerDiesWithItsProcess$")
	program.Env = append(os.Environ(), doomed+"=1")
	in, err := program.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	out, err := program.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := program.Start(); err != nil {
		t.Fatal(err)
	}
	var address string
	if _, err := fmt.Fscanln(out, &address); err != nil || !strings.HasPrefix(address, "postgres://") {
		t.Fatalf("it said %q, %v", address, err)
	}
	defer os.RemoveAll(folderOf(t, address))
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	program.Process.Kill()
	program.Wait()
	if note, err := conn.WaitForNotification(t.Context()); err == nil {
		t.Errorf("the server said %v", note)
	}
}

func folderOf(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	return u.Query().Get("host")
}
