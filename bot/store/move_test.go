package store_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/kit"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
	"kitbell/schedule"
)

// furnish puts rows of two departments into every table, in most of their states.
func furnish(t *testing.T, db *store.DB) {
	t.Helper()
	for _, department := range []string{storetest.Department, "other"} {
		for i := range 3 {
			event := storetest.Event(fmt.Sprint(department, i))
			event.Department, event.Text = department, "it's \"gone\" – 全部 \n\t🔧 \\x00"
			_, err := db.Receive(t.Context(), event)
			must(t, err)
		}
		number, err := db.NextNumber(t.Context(), department)
		must(t, err)
		report := storetest.Report("door-strap")
		report.Note = "  the long one, \u00e9\u0301, 100 % \r\n"
		opened := kit.File(nil, report, number)
		closed, _ := kit.Close([]kit.Line{opened.New}, "k07", "door-strap", kit.BackInKit, "p-marsh", storetest.Noon.Add(time.Hour))
		cursor := schedule.Cursor{Entry: "weekly", Spec: "0 9 * * 1", Zone: "America/New_York", Next: storetest.Noon}
		turn := storetest.Turn(department+"0", opened, closed, kit.File(nil, storetest.Report("latch-film"), number+7),
			bot.Written{Entry: bot.NewEntry("use", "k07", "a-crew", storetest.Noon, map[string]int{"n": 1})},
			kit.PhotoKept{Photo: kit.Photo{Name: "1-F1", Line: number, By: "a-crew", At: storetest.Noon, JPEG: []byte{0xff, 0xd8, 0, 1, '\''}}},
			kit.PhotoKept{Photo: kit.Photo{Name: "1-F2", Line: number, By: "a-crew", At: storetest.Noon, JPEG: make([]byte, 2<<20)}},
			schedule.Fell{Due: schedule.Due{Entry: "weekly", Unit: "engine-4", Wall: "2026-11-23T09:00", Kind: schedule.CheckDue, At: storetest.Noon}},
			schedule.Advanced{New: cursor})
		turn.Department = department
		turn.Posts = []bot.Outgoing{storetest.Post(department+"1", "a"), storetest.Post(department+"2", "a"), storetest.Post(department+"3", "b")}
		turn.Talk = &bot.Talk{Department: department, Key: "console/w/@u", State: []byte(`{"a":1}`), Expires: storetest.Noon.Add(time.Hour)}
		must(t, db.Apply(t.Context(), turn))
		must(t, db.SetSetting(t.Context(), department, "last", ""))
		must(t, db.BlankAuditText(t.Context(), department, 2))
	}
	_, _, err := db.Claim(t.Context(), "gateway", "a", 0)
	must(t, err)
	failed := storetest.Event(storetest.Department + "1")
	must(t, db.Fail(t.Context(), failed, "r1"))
	items, _, err := db.Ready(t.Context(), storetest.Noon, 9)
	must(t, err)
	must(t, db.MarkSending(t.Context(), items[0].ID))
	must(t, db.Settle(t.Context(), items[0].ID, deliver.Outcome{State: deliver.Sent, Ref: bot.MessageRef{ID: "m"}}))
	must(t, db.MarkSending(t.Context(), items[1].ID))
}

// furnished is the file of a store that furnish went through.
func furnished(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(t.Context(), path, store.Options{})
	must(t, err)
	furnish(t, db)
	must(t, db.Close())
	return path
}

// little is the file of a store with two rows.
func little(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(t.Context(), path, store.Options{})
	must(t, err)
	must(t, db.SetSetting(t.Context(), storetest.Department, "last", ""))
	must(t, db.SetSetting(t.Context(), "other", "last", ""))
	must(t, db.Close())
	return path
}

// tablesOf gives the tables of a database but the one of versions, from its own
// catalogue.
func tablesOf(t *testing.T, place string) []string {
	t.Helper()
	catalogue := `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'`
	if store.IsPostgres(place) {
		catalogue = `SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'`
	}
	conn, err := rawOpen(t, place).Conn(t.Context())
	must(t, err)
	defer conn.Close()
	names := slices.DeleteFunc(query(t, conn, catalogue), func(name string) bool { return name == "schema_version" })
	slices.Sort(names)
	return names
}

// dump gives every row of every table as a line of text, the columns by name.
func dump(t *testing.T, db *sql.DB, tables []string) map[string][]string {
	t.Helper()
	all := make(map[string][]string)
	for _, table := range tables {
		rows, err := db.QueryContext(t.Context(), "SELECT * FROM "+table)
		must(t, err)
		columns, err := rows.Columns()
		must(t, err)
		for rows.Next() {
			values, into := make([]any, len(columns)), make([]any, len(columns))
			for i := range values {
				into[i] = &values[i]
			}
			must(t, rows.Scan(into...))
			var row []string
			for i, c := range columns {
				row = append(row, fmt.Sprintf("%s=%T:%q", c, values[i], fmt.Sprint(values[i])))
			}
			slices.Sort(row)
			all[table] = append(all[table], strings.Join(row, " "))
		}
		must(t, rows.Err())
		must(t, rows.Close())
		slices.Sort(all[table])
	}
	return all
}

// TestMoveAndBack takes a store from a file to PostgreSQL and from there into the
// file of a copy: every row is the same at each station.
func TestMoveAndBack(t *testing.T) {
	path, address := furnished(t), server.Empty(t)
	moved, err := store.Move(t.Context(), path, address, store.Options{})
	must(t, err)
	tables := tablesOf(t, path)
	if diff := cmp.Diff(tables, tablesOf(t, address)); diff != "" {
		t.Error("tables:", diff)
	}
	was, is := dump(t, rawOpen(t, path), tables), dump(t, rawOpen(t, address), tables)
	if diff := cmp.Diff(was, is); diff != "" {
		t.Error("after the move:", diff)
	}
	for _, m := range moved.Tables {
		if n := len(was[m.Table]); n == 0 || int64(n) != m.Rows {
			t.Errorf("%s: %d rows moved of %d", m.Table, m.Rows, n)
		}
	}
	if len(moved.Tables) != len(tables) {
		t.Errorf("%d tables moved of %d", len(moved.Tables), len(tables))
	}
	for i, department := range []string{"other", storetest.Department} {
		if got := moved.Audits[i]; got.Department != department || got.Rows != 8 || got.Sound != 8 || got.Fault != "" {
			t.Errorf("audit: %+v, want 8 sound rows of %s", got, department)
		}
	}
	copied, err := store.OpenCopy(t.Context(), address, store.Options{})
	must(t, err)
	defer copied.Close()
	if diff := cmp.Diff(was, dump(t, copied.Reads(), tables)); diff != "" {
		t.Error("and back:", diff)
	}
}

// What was moved is gone on with where it stood.
func TestMovedStoreGoesOn(t *testing.T) {
	path, address := furnished(t), server.Empty(t)
	_, err := store.Move(t.Context(), path, address, store.Options{})
	must(t, err)
	for _, place := range []string{path, address} {
		db := mustOpen(t, place)
		fresh, err := db.Receive(t.Context(), storetest.Event(storetest.Department+"0"))
		if err != nil || fresh {
			t.Errorf("an event that was moved: %v, %v", fresh, err)
		}
		if fresh, err = db.Receive(t.Context(), storetest.Event("new")); err != nil || !fresh {
			t.Errorf("a new event: %v, %v", fresh, err)
		}
		number, err := db.NextNumber(t.Context(), storetest.Department)
		if err != nil || number != 9 {
			t.Errorf("the next line is %d, %v", number, err)
		}
		turn := storetest.Turn("new", bot.Written{Entry: bot.NewEntry("use", "k07", "a", storetest.Noon, 1)})
		turn.Posts = []bot.Outgoing{storetest.Post("new", "a")}
		must(t, db.Apply(t.Context(), turn))
		if rows, err := db.VerifyAudit(t.Context(), storetest.Department); err != nil || rows != 9 {
			t.Errorf("audit: %d rows, %v", rows, err)
		}
	}
}

func TestMoveRefuses(t *testing.T) {
	for _, row := range []struct {
		name    string
		prepare func(t *testing.T, path, address string)
		say     string
	}{
		{"a running source", func(t *testing.T, path, _ string) { mustOpen(t, path) }, "Another kitbell (process"},
		{"a running target", func(t *testing.T, _, address string) { mustOpen(t, address) }, "Another kitbell"},
		{"a newer source", func(t *testing.T, path, _ string) { newerTables(t, path) }, "newer kitbell"},
		{"a newer target", func(t *testing.T, _, address string) { newerTables(t, address) }, "newer kitbell"},
		{"an older source", func(t *testing.T, path, _ string) {
			rawExec(t, path, "DELETE FROM schema_version WHERE version_id > 2")
		}, "older kitbell"},
		{"an older target", func(t *testing.T, _, address string) { older(t, address, 2) }, "older kitbell"},
		{"a target of another program", func(t *testing.T, _, address string) { otherProgram(t, address) }, "another program"},
		{"a target with rows", func(t *testing.T, _, address string) {
			db, err := store.Open(t.Context(), address, store.Options{})
			must(t, err)
			must(t, db.SetSetting(t.Context(), "d", "a", "b"))
			must(t, db.Close())
		}, "I write over none"},
		{"a source with a NUL in it", func(t *testing.T, path, _ string) {
			rawExec(t, path, "UPDATE settings SET value = 'a' || char(0) || 'b'")
		}, "a character in it"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path, address := little(t), server.Empty(t)
			row.prepare(t, path, address)
			_, err := store.Move(t.Context(), path, address, store.Options{})
			wantSentence(t, err, row.say)
		})
	}
}

// A source whose audit is broken, and a target that makes something else of what
// arrives, leave the target as empty as it was.
func TestMoveIsWholeOrNothing(t *testing.T) {
	for _, row := range []struct {
		name    string
		prepare func(t *testing.T, path, address string)
		fault   string
	}{
		{"a broken audit", func(t *testing.T, path, _ string) {
			rawExec(t, path, append(freeAudit(path), "UPDATE audit SET actor = 'x' WHERE seq = 3")...)
		}, "broken at row 3"},
		{"a value that changes on the way", func(t *testing.T, _, address string) {
			rawExec(t, address, `CREATE FUNCTION meddle() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN NEW.value = 'x'; RETURN NEW; END $$`,
				`CREATE TRIGGER meddle BEFORE INSERT ON settings FOR EACH ROW EXECUTE FUNCTION meddle()`)
		}, "settings arrived otherwise"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path, address := furnished(t), server.Database(t)
			row.prepare(t, path, address)
			if _, err := store.Move(t.Context(), path, address, store.Options{}); err == nil || !strings.Contains(err.Error(), row.fault) {
				t.Errorf("got %v, want %q", err, row.fault)
			}
			for table, rows := range dump(t, rawOpen(t, address), tablesOf(t, address)) {
				if len(rows) > 0 {
					t.Errorf("%s has %d rows", table, len(rows))
				}
			}
		})
	}
}

// Every change of a value, a kind or a row's place shows in the checksum.
func TestSums(t *testing.T) {
	sums := make(map[[32]byte]string)
	for _, statement := range []string{
		"", "UPDATE settings SET value = 'x' WHERE department = 'other'", "UPDATE settings SET value = '1'", "UPDATE settings SET name = 'las', value = 't'",
		"DELETE FROM settings WHERE department = 'other'",
	} {
		path, address := little(t), server.Database(t)
		if statement != "" {
			rawExec(t, path, statement)
		}
		moved, err := store.Move(t.Context(), path, address, store.Options{})
		must(t, err)
		for _, m := range moved.Tables {
			if m.Table == "settings" {
				if other, ok := sums[m.Sum]; ok {
					t.Errorf("%q sums up as %q", statement, other)
				}
				sums[m.Sum] = statement
			}
		}
	}
}
