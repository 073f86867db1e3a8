package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"fmt"
	"hash"
	"slices"
	"strings"
)

// table is a table whose rows are copied, with the columns of its key.
type table struct {
	name string
	key  string
	id   bool // the database numbers its rows
}

// allTables gives the tables in an order in which a row comes after those that it
// refers to.
func allTables() []table {
	return []table{
		{"inbox", "id", true}, {"outbox", "id", true}, {"talks", "department, key", false},
		{"lines", "department, number", false}, {"line_steps", "department, number, version", false}, {"numbers", "department", false},
		{"journal", "id", true}, {"due", "id", true}, {"cursors", "department, entry", false},
		{"audit", "department, seq", false}, {"audit_text", "department, seq", false},
		{"leases", "name", false}, {"settings", "department, name", false}, {"photos", "department, name", false},
	}
}

// generated are the columns that the database fills by itself.
var generated = []string{"is_open", "matter"}

// queryer is what rows are read from: a database, a connection or a transaction.
type queryer interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// Copied is what became of a table: how many rows it has, and a checksum over all
// of them in the order of their key.
type Copied struct {
	Table string
	Rows  int64
	Sum   [sha256.Size]byte
}

// copyTable writes every row of a table into the same table elsewhere, which is
// empty, by statements that it gives to run.
func copyTable(ctx context.Context, t table, from queryer, run func(query string, args ...any) error) (Copied, error) {
	in := inserter{table: t.name, run: run}
	copied, err := eachRow(ctx, t, from, in.add)
	if err == nil {
		err = in.flush()
	}
	if err != nil {
		return Copied{}, fmt.Errorf("copy %s: %w", t.name, err)
	}
	return copied, nil
}

// eachRow goes through a table in the order of its key, and counts and sums up
// what it sees.
func eachRow(ctx context.Context, t table, from queryer, do func(columns []string, row []any) error) (Copied, error) {
	rows, err := from.QueryContext(ctx, "SELECT * FROM "+t.name+" ORDER BY "+t.key)
	if err != nil {
		return Copied{}, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return Copied{}, err
	}
	copied, sum := Copied{Table: t.name}, sha256.New()
	for rows.Next() {
		names, row, err := scanStored(rows, columns)
		if err != nil {
			return Copied{}, err
		}
		if err := addRow(sum, names, row); err != nil {
			return Copied{}, err
		}
		if err := do(names, row); err != nil {
			return Copied{}, err
		}
		copied.Rows++
	}
	sum.Sum(copied.Sum[:0])
	return copied, rows.Err()
}

// scanStored reads a row without what the database fills by itself, by the names
// of its columns: two databases may have them in another order.
func scanStored(rows *sql.Rows, columns []string) (names []string, row []any, err error) {
	all := make([]any, len(columns))
	into := make([]any, len(columns))
	for i := range all {
		into[i] = &all[i]
	}
	if err := rows.Scan(into...); err != nil {
		return nil, nil, err
	}
	for i, name := range columns {
		if !slices.Contains(generated, name) {
			names, row = append(names, name), append(row, whole(all[i]))
		}
	}
	return names, row, nil
}

// whole makes bytes of no length what they are: SQLite's driver gives nil, which
// PostgreSQL's would take for no value at all.
func whole(value any) any {
	if raw, ok := value.([]byte); ok && raw == nil {
		return []byte{}
	}
	return value
}

// addRow adds a row to a checksum: each value with its column's name, its kind and
// its length, so that nothing can move from one to the next unseen.
func addRow(sum hash.Hash, names []string, row []any) error {
	for i, value := range row {
		var kind byte
		var raw []byte
		switch v := value.(type) {
		case int64:
			kind, raw = 'i', binary.BigEndian.AppendUint64(nil, uint64(v))
		case string:
			kind, raw = 's', []byte(v)
		case []byte:
			kind, raw = 'b', v
		default:
			return fmt.Errorf("column %s holds a %T", names[i], value)
		}
		sum.Write(hashOf([]byte(names[i]), []byte{kind}, raw))
	}
	return nil
}

// The most that goes into one statement: both databases take more parameters, and
// pictures are large.
const (
	mostParameters = 4000
	mostBytes      = 1 << 20
)

// inserter writes rows of one table, many to a statement.
type inserter struct {
	table   string
	run     func(query string, args ...any) error
	columns []string
	rows    int
	values  []any
	bytes   int // of what is long
}

func (in *inserter) add(columns []string, row []any) error {
	in.columns = columns
	in.rows++
	in.values = append(in.values, row...)
	for _, value := range row {
		if long, ok := value.([]byte); ok {
			in.bytes += len(long)
		}
	}
	if len(in.values)+len(row) > mostParameters || in.bytes > mostBytes {
		return in.flush()
	}
	return nil
}

func (in *inserter) flush() error {
	if in.rows == 0 {
		return nil
	}
	var text strings.Builder
	fmt.Fprintf(&text, "INSERT INTO %s (%s) VALUES ", in.table, strings.Join(in.columns, ", "))
	n := 0
	for row := range in.rows {
		if row > 0 {
			text.WriteString(", ")
		}
		marks := make([]string, len(in.columns))
		for i := range marks {
			n++
			marks[i] = fmt.Sprint("$", n)
		}
		fmt.Fprintf(&text, "(%s)", strings.Join(marks, ", "))
	}
	err := in.run(text.String(), in.values...)
	in.rows, in.values, in.bytes = 0, in.values[:0], 0
	return err
}
