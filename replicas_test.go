package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/bot/department"
)

// How long and how the processes are ill-treated. It takes minutes, so it is run by
// hand: go test . -run TestReplicas -replicas.rounds 6, and longer with
// -replicas.rounds 200 -timeout 2h.
var (
	chaosRounds = flag.Int("replicas.rounds", 0, "kills, pauses and cuts in TestReplicas")
	chaosSeed   = flag.Uint64("replicas.seed", 1, "what they are drawn from")
)

// patience is longer than anything may take: a lease to end, a locked department to
// be let go of, an entry to fall due.
const patience = 150 * time.Second

// processArgs makes this test's program one of the processes: its words, a line
// each.
const processArgs = "KITBELL_TEST_PROCESS"

func runProcess(args string) int {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	return dispatch(ctx, strings.Split(args, "\n"), streams{strings.NewReader(""), os.Stdout, os.Stderr})
}

// replica is one kitbell process.
type replica struct {
	command *exec.Cmd
	web     string
	log     *safeBuffer
}

// replicas is a department served by several processes on one database.
type replicas struct {
	t        *testing.T
	ctx      context.Context
	slack    *slackserver.Server
	discord  *discordserver.Server
	dir      string
	address  string
	base     *pgx.Conn // to another database of the server
	look     *pgx.Conn // to theirs; opened anew after a cut
	all      []*replica
	logs     []*safeBuffer
	random   *rand.Rand
	sent     map[string]int // events by platform
	takeover time.Duration  // the longest time until all that was said was answered
	counts   map[string]int
}

func startReplicas(t *testing.T, n int) *replicas {
	t.Helper()
	address := postgres.Empty(t) // skips where there is none
	ctx, cancel := context.WithTimeout(t.Context(), time.Duration(3+*chaosRounds)*time.Minute)
	t.Cleanup(cancel)
	r := &replicas{
		t: t, ctx: ctx, slack: slackserver.Start(), discord: discordserver.Start(), dir: t.TempDir(), address: address,
		random: rand.New(rand.NewPCG(*chaosSeed, 8)), sent: map[string]int{}, counts: map[string]int{},
	}
	r.discord.Now = time.Now // ids that tell the time: what was missed is asked for by it
	t.Cleanup(r.slack.Close)
	t.Cleanup(r.discord.Close)
	servers := fmt.Sprintf("platforms:\n  - {platform: slack, api: %q}\n  - {platform: discord, api: %q}\n", r.slack.URL(), r.discord.URL())
	file := channelsFile("north", `  - {platform: slack, workspace: T1, id: C1, use: station, station: station-1}
  - {platform: slack, workspace: T1, id: C2, use: programme}
  - {platform: discord, workspace: "`+discordserver.Guild+`", id: "`+discordserver.Channel+`", use: station, station: station-2}
`, `{slack: U1, discord: "`+discordserver.User+`"}`, servers)
	file = strings.Replace(file, "unit: ladder-2, platoon: B}", "unit: ladder-2, platoon: B, accounts: {slack: U2}}", 1)
	file = byDay(file)
	if err := os.WriteFile(filepath.Join(r.dir, department.FileName), []byte(file), 0o600); err != nil {
		t.Fatal(err)
	}
	r.base = r.connect(postgres.Address("postgres"))
	r.look = r.connect(address)
	for range n {
		r.start()
	}
	t.Cleanup(r.stop)
	r.until("all processes work", func() bool {
		for _, one := range r.all {
			if strings.Contains(one.log.String(), "kitbell run:") {
				t.Fatal(one.log)
			}
		}
		return !slices.ContainsFunc(r.all, func(one *replica) bool { return one.status("/readyz") != http.StatusOK })
	})
	if err := r.discord.AwaitLink(ctx); err != nil {
		t.Fatal(err)
	}
	return r
}

// noonZone is a zone in which it is about noon now, and the time there: crews get
// their posts by day.
func noonZone() (name string, now time.Time) {
	ahead := 12 - time.Now().UTC().Hour()
	return fmt.Sprintf("Etc/GMT%+d", -ahead), time.Now().UTC().Add(time.Duration(ahead) * time.Hour)
}

// byDay makes a department's file one whose crews get a post soon.
func byDay(file string) string {
	zone, now := noonZone()
	return strings.NewReplacer(
		"zone: America/New_York", "zone: "+zone, "morning: 08:00-10:00", "morning: 09:00-18:00",
		"\nentries:\n", "\nentries:\n  - {id: soon, cron: "+now.Add(2*time.Minute).Format(`"4 15 * * *"`)+", due: check, units: all}\n",
	).Replace(file)
}

func (r *replicas) connect(address string) *pgx.Conn {
	r.t.Helper()
	conn, err := pgx.Connect(r.ctx, address)
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func (r *replicas) start() {
	r.t.Helper()
	one := &replica{web: freeAddress(r.t), log: &safeBuffer{}}
	one.command = exec.Command(os.Args[0])
	one.command.Env = append(os.Environ(), processArgs+"="+strings.Join([]string{"run", "-c", r.dir, "--http", one.web}, "\n"),
		databaseAddress+"="+r.address, discordToken+"="+discordserver.Token, slackAppToken+"="+slackserver.AppToken, slackBotToken+"="+slackserver.BotToken)
	one.command.Stdout, one.command.Stderr = one.log, one.log
	if err := one.command.Start(); err != nil {
		r.t.Fatal(err)
	}
	r.all, r.logs = append(r.all, one), append(r.logs, one.log)
}

// stop ends the processes that are left, as an operator does.
func (r *replicas) stop() {
	for _, one := range r.all {
		_ = one.command.Process.Signal(syscall.SIGCONT)
		_ = one.command.Process.Signal(syscall.SIGTERM)
	}
	for _, one := range r.all {
		if err := one.command.Wait(); err != nil {
			r.t.Errorf("a process ended with %v", err)
		}
	}
	r.all = nil
	if r.t.Failed() {
		for i, log := range r.logs {
			r.t.Logf("process %d:\n%s", i, log)
		}
	}
}

// until waits for a condition that nothing announces.
func (r *replicas) until(what string, holds func() bool) {
	r.t.Helper()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	deadline := time.NewTimer(patience)
	defer deadline.Stop()
	for !holds() {
		select {
		case <-tick.C:
		case <-deadline.C:
			r.t.Fatalf("not within %v: %s; said %v; stored %v", patience, what, r.sent, r.stored())
		case <-r.ctx.Done():
			r.t.Fatalf("not in time: %s", what)
		}
	}
}

// stored is how many events each platform's people have brought in.
func (r *replicas) stored() map[string]int {
	return map[string]int{
		"slack":   r.number("SELECT count(*) FROM inbox WHERE platform = 'slack'"),
		"discord": r.number("SELECT count(*) FROM inbox WHERE platform = 'discord'"),
		"new":     r.number("SELECT count(*) FROM inbox WHERE state = 'new'"),
	}
}

func (r *replicas) number(query string, args ...any) (n int) {
	r.t.Helper()
	if err := r.look.QueryRow(r.ctx, query, args...).Scan(&n); err != nil {
		r.t.Fatalf("%s: %v", query, err)
	}
	return n
}

// say sends so many messages, each by somebody, somewhere, without waiting for an
// answer.
func (r *replicas) say(n int) {
	r.t.Helper()
	for range n {
		text := fmt.Sprintf("%s is missing %d wood wedges", []string{"E1", "L2"}[r.random.IntN(2)], 1+r.random.IntN(4))
		var err error
		if r.random.IntN(3) > 0 {
			_, _, err = r.slack.As([]string{"U1", "U2"}[r.random.IntN(2)]).Mention(r.ctx, "C1", text)
			r.sent["slack"]++
		} else {
			_, err = r.discord.As(discordserver.User).Mention(r.ctx, discordserver.Channel, text)
			r.sent["discord"]++
		}
		if err != nil {
			r.t.Fatal(err)
		}
	}
}

// settled waits until every message was handled and every answer sent, and notes
// how long that took.
func (r *replicas) settled() {
	r.t.Helper()
	began := time.Now()
	r.until("every event is handled", func() bool {
		return r.number("SELECT count(*) FROM inbox WHERE state <> 'new'") >= r.sent["slack"]+r.sent["discord"]
	})
	r.until("every post is sent", func() bool { return r.number("SELECT count(*) FROM outbox WHERE is_open = 1") == 0 })
	r.takeover = max(r.takeover, time.Since(began))
}

// kill ends a process with no word and starts another.
func (r *replicas) kill() {
	victim := r.random.IntN(len(r.all))
	_ = r.all[victim].command.Process.Kill()
	_ = r.all[victim].command.Wait()
	r.all = slices.Delete(r.all, victim, victim+1)
	r.start()
}

// pause lets a process stand still until the others have done its work, and go on
// then, unaware.
func (r *replicas) pause() {
	victim := r.all[r.random.IntN(len(r.all))].command.Process
	_ = victim.Signal(syscall.SIGSTOP)
	r.say(3)
	r.outlive(victim.Pid)
	_ = victim.Signal(syscall.SIGCONT)
}

// outlive waits until a process that stands still has no lease any more.
func (r *replicas) outlive(pid int) {
	r.until("its leases end", func() bool {
		return r.number(`SELECT count(*) FROM leases WHERE split_part(owner, '/', 2) = $1 AND until > extract(epoch FROM clock_timestamp()) * 1000000000`, fmt.Sprint(pid)) == 0
	})
}

// cut keeps everybody from the database until each process has noticed, while
// people go on talking.
func (r *replicas) cut() {
	name := r.look.Config().Database
	r.look.Close(r.ctx)
	r.base.Exec(r.ctx, "ALTER DATABASE "+name+" WITH ALLOW_CONNECTIONS false")
	r.base.Exec(r.ctx, "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = $1", name)
	r.say(3)
	for _, one := range r.all {
		r.until("it notices", func() bool { return one.status("/healthz") == http.StatusServiceUnavailable })
	}
	if _, err := r.base.Exec(r.ctx, "ALTER DATABASE "+name+" WITH ALLOW_CONNECTIONS true"); err != nil {
		r.t.Fatal(err)
	}
	r.look = r.connect(r.address)
}

func (one *replica) status(path string) int {
	response, err := http.Get("http://" + one.web + path)
	if err != nil {
		return 0
	}
	defer response.Body.Close()
	_, _ = io.Copy(io.Discard, response.Body)
	return response.StatusCode
}

// bundles are the posts that the schedule has made.
const bundles = "SELECT count(*) FROM outbox WHERE key LIKE 'bundle/%'"

// Three processes on one database are killed, paused and cut off from it while
// people talk on two platforms: every event is handled once, every post is sent
// once or marked as one of which nobody knows, and the order of each channel and
// each conversation holds.
func TestReplicas(t *testing.T) {
	if *chaosRounds < 1 {
		t.Skip("skipped: a long run, by hand: -replicas.rounds 6")
	}
	if runtime.GOOS != "linux" {
		t.Skip("skipped: processes are paused by Linux's signals")
	}
	r := startReplicas(t, 3)
	r.say(6)
	r.settled()
	acts := []struct {
		name string
		do   func()
	}{{"kill", r.kill}, {"pause", r.pause}, {"cut", r.cut}}
	for round := range *chaosRounds {
		act := acts[r.random.IntN(len(acts))]
		if round < len(acts) {
			act = acts[round] // each at least once
		}
		r.counts[act.name]++
		r.say(4 + r.random.IntN(5))
		act.do()
		r.say(2)
		r.settled()
	}
	r.until("the crews' posts are written", func() bool { return r.number(bundles) >= 2 })
	r.settled()
	r.check()
	t.Logf("%d kills, %d pauses, %d cuts; %d events by slack, %d by discord; %d posts sent, %d possibly sent; longest until all was answered %v",
		r.counts["kill"], r.counts["pause"], r.counts["cut"], r.sent["slack"], r.sent["discord"],
		r.number("SELECT count(*) FROM outbox WHERE state = 'sent'"), r.number("SELECT count(*) FROM outbox WHERE state = 'possibly-sent'"), r.takeover.Round(time.Millisecond))
}

// check counts.
func (r *replicas) check() {
	r.t.Helper()
	for _, row := range []struct {
		what, query string
		want        int
	}{
		{"events of slack", "SELECT count(*) FROM inbox WHERE platform = 'slack'", r.sent["slack"]},
		{"events of discord", "SELECT count(*) FROM inbox WHERE platform = 'discord'", r.sent["discord"]},
		{"events set aside", "SELECT count(*) FROM inbox WHERE state = 'failed'", 0},
		{"events booked", "SELECT count(DISTINCT event) FROM line_steps", r.sent["slack"] + r.sent["discord"]},
		{"events booked twice", "SELECT count(*) FROM (SELECT event FROM line_steps GROUP BY event HAVING count(*) > 1) twice", 0},
		{"moments that fell due, without what is asked again the next tour", "SELECT count(*) FROM due WHERE entry = 'soon' AND wall NOT LIKE '%+%'", 2},
		{"posts of the schedule", bundles, 2},
		{"posts given up", "SELECT count(*) FROM outbox WHERE state = 'failed'", 0},
		{"events handled before an earlier one of their conversation", `
SELECT count(*) FROM inbox a JOIN inbox b ON a.address = b.address AND a.speaker = b.speaker AND a.id < b.id AND a.done_at > b.done_at`, 0},
	} {
		if got := r.number(row.query); got != row.want {
			r.t.Errorf("%s: %d, want %d", row.what, got, row.want)
		}
	}
	r.checkPosts("slack", len(r.slack.Messages()))
	r.checkPosts("discord", len(r.discord.Messages()))
}

// checkPosts compares what a platform shows with what the outbox says of it.
func (r *replicas) checkPosts(platform string, shown int) {
	r.t.Helper()
	sent := r.number("SELECT count(*) FROM outbox WHERE state = 'sent' AND lane LIKE $1 AND message::json->'edit' IS NULL AND message::json->'Edit' IS NULL", platform+"/%")
	unsure := r.number("SELECT count(*) FROM outbox WHERE state = 'possibly-sent' AND lane LIKE $1", platform+"/%")
	if shown < sent || shown > sent+unsure {
		r.t.Errorf("%s shows %d messages; %d were sent and %d possibly", platform, shown, sent, unsure)
	}
	if n := r.number("SELECT count(*) - count(DISTINCT ref) FROM outbox WHERE state = 'sent' AND ref::json->>'id' <> 'private' AND lane LIKE $1", platform+"/%"); n > 0 {
		r.t.Errorf("%s: %d messages stand for more than one post", platform, n)
	}
	disordered := r.number(`
SELECT count(*) FROM outbox a JOIN outbox b ON a.lane = b.lane AND a.id < b.id AND a.state = 'sent' AND b.state = 'sent'
WHERE a.lane LIKE $1 AND a.ref::json->>'id' <> 'private' AND b.ref::json->>'id' <> 'private' AND (a.ref::json->>'id')::numeric > (b.ref::json->>'id')::numeric`, platform+"/%")
	if disordered > 0 {
		r.t.Errorf("%s: %d pairs of messages are out of order", platform, disordered)
	}
}
