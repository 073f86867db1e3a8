package store_test

import (
	"context"
	"database/sql"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// fill puts rows of 50 departments into every table, most of them done with, so
// that PostgreSQL plans as it does after years.
func fill(t *testing.T, conn *sql.Conn) {
	t.Helper()
	const rows = 20_000
	values := map[string]string{"department": "'d' || g % 50", "withdrawn_at": "0"}
	states := map[string]string{"inbox": "'handled'", "outbox": "'sent'", "lines": "'back in the kit'"}
	kinds := map[string]string{"text": "'v' || g", "bigint": "g", "bytea": `'\x00'::bytea`}
	columns := query(t, conn, `
SELECT table_name || ' ' || column_name || ' ' || data_type FROM information_schema.columns
WHERE table_schema = 'public' AND is_generated = 'NEVER' AND table_name <> 'schema_version' ORDER BY table_name, ordinal_position`)
	names, exprs := map[string][]string{}, map[string][]string{}
	for _, c := range columns {
		part := strings.Fields(c)
		expr := kinds[part[2]]
		if fixed, ok := values[part[1]]; ok {
			expr = fixed
		}
		if fixed, ok := states[part[0]]; ok && part[1] == "state" {
			expr = fixed
		}
		if part[0] == "numbers" && part[1] == "department" {
			expr = "'d' || g"
		}
		names[part[0]], exprs[part[0]] = append(names[part[0]], part[1]), append(exprs[part[0]], expr)
	}
	execute(t, conn, "SET session_replication_role = replica") // no look at foreign keys
	for table := range names {
		execute(t, conn, fmt.Sprintf("INSERT INTO %s (%s) SELECT %s FROM generate_series(1, %d) g", table, strings.Join(names[table], ", "), strings.Join(exprs[table], ", "), rows))
	}
	execute(t, conn, "ANALYZE")
}

// noSequentialScan reads PostgreSQL's plan, as it is for any arguments, of each of
// the statements that a store has run.
func noSequentialScan(t *testing.T, statements []string) {
	slices.Sort(statements)
	statements = slices.Compact(statements)
	if len(statements) < 40 { // else the collecting is broken
		t.Fatalf("only %d statements seen", len(statements))
	}
	conn, err := rawOpen(t, server.Database(t)).Conn(t.Context())
	must(t, err)
	defer conn.Close()
	fill(t, conn)
	execute(t, conn, "SET plan_cache_mode = force_generic_plan")
	planned := regexp.MustCompile(`^\s*(SELECT|INSERT|UPDATE|DELETE|WITH)\b`)
	for i, s := range statements {
		if !planned.MatchString(s) {
			continue
		}
		name := fmt.Sprint("s", i)
		execute(t, conn, "PREPARE "+name+" AS "+s)
		for _, step := range query(t, conn, "EXPLAIN EXECUTE "+name+nulls(s)) {
			if strings.Contains(step, "Seq Scan on") {
				t.Errorf("%s: %s", strings.TrimSpace(step), s)
			}
		}
	}
}

// nulls are the arguments of a statement; their values do not matter to the plan.
func nulls(statement string) string {
	var args []string
	for n := 1; strings.Contains(statement, "$"+strconv.Itoa(n)); n++ {
		args = append(args, "NULL")
	}
	if len(args) == 0 {
		return ""
	}
	return "(" + strings.Join(args, ", ") + ")"
}

func execute(t *testing.T, conn *sql.Conn, statement string) {
	t.Helper()
	if _, err := conn.ExecContext(context.Background(), statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

func query(t *testing.T, conn *sql.Conn, statement string) (all []string) {
	t.Helper()
	rows, err := conn.QueryContext(t.Context(), statement)
	if err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	defer rows.Close()
	for rows.Next() {
		var one string
		must(t, rows.Scan(&one))
		all = append(all, one)
	}
	must(t, rows.Err())
	return all
}
