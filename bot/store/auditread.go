package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"
	"slices"
	"time"
)

const (
	selectAudited = `SELECT DISTINCT department FROM audit ORDER BY department`

	// Of an audit whose last rows were removed, the texts may still be there.
	selectAuditEnds = `
SELECT (SELECT count(*) FROM audit WHERE department = $1), (SELECT coalesce(max(seq), 0) FROM audit_text WHERE department = $1)`

	selectAuditTail = `
SELECT a.seq, a.at, a.actor, a.verb, a.subject, coalesce(x.old_text, ''), coalesce(x.new_text, ''), coalesce(x.blanked_at, 0)
FROM audit a LEFT JOIN audit_text x ON x.department = a.department AND x.seq = a.seq
WHERE a.department = $1 ORDER BY a.seq DESC LIMIT $2`
)

// Audit is a department's audit as it was found.
type Audit struct {
	Department string
	Rows       int64  // that are there
	Sound      int64  // number of the last row up to which all is sound
	Head       []byte // hash of that row: noted elsewhere, it shows later that nothing before was changed or removed
	Fault      string // what is wrong with the row after it; empty when nothing is
}

// AuditRow is a row of the audit to be read.
type AuditRow struct {
	Seq                  int64
	At                   time.Time
	Actor, Verb, Subject string
	Old, New             string
	Blanked              time.Time // when the texts were removed; zero when they are there
}

// Audits verifies the audit of every department that has one, by department. What
// is wrong with one is in its Fault; the error is of reading. Last rows that were
// removed together with their texts it cannot see: compare with a Head and a count
// that were noted before, such as those beside a backup.
func (db *DB) Audits(ctx context.Context) ([]Audit, error) {
	return auditsIn(ctx, db.reads.db)
}

// AuditTail gives the last n rows of a department's audit, oldest first.
func (db *DB) AuditTail(ctx context.Context, department string, n int) ([]AuditRow, error) {
	rows, err := db.reads.query(ctx, selectAuditTail, department, n)
	tail, err := collect(rows, err, func(row rowScanner) (r AuditRow, err error) {
		var at, blanked int64
		err = row.Scan(&r.Seq, &at, &r.Actor, &r.Verb, &r.Subject, &r.Old, &r.New, &blanked)
		r.At, r.Blanked = moment(at), moment(blanked)
		return r, err
	})
	if err != nil {
		return nil, fmt.Errorf("read end of audit: %w", err)
	}
	slices.Reverse(tail)
	return tail, nil
}

func departmentsIn(ctx context.Context, from queryer) ([]string, error) {
	rows, err := from.QueryContext(ctx, selectAudited)
	names, err := collect(rows, err, func(row rowScanner) (name string, err error) { return name, row.Scan(&name) })
	if err != nil {
		return nil, fmt.Errorf("read departments with an audit: %w", err)
	}
	return names, nil
}

func auditsIn(ctx context.Context, from queryer) ([]Audit, error) {
	departments, err := departmentsIn(ctx, from)
	if err != nil {
		return nil, err
	}
	var audits []Audit
	for _, d := range departments {
		one, err := auditIn(ctx, from, d)
		if err != nil {
			return nil, err
		}
		audits = append(audits, one)
	}
	return audits, nil
}

// auditIn counts before it walks: what is added meanwhile is walked and not missed.
func auditIn(ctx context.Context, from queryer, department string) (Audit, error) {
	var count, texts int64
	rows, err := from.QueryContext(ctx, selectAuditEnds, department)
	if _, err = collect(rows, err, func(row rowScanner) (struct{}, error) { return struct{}{}, row.Scan(&count, &texts) }); err != nil {
		return Audit{}, fmt.Errorf("count audit: %w", err)
	}
	if rows, err = from.QueryContext(ctx, selectAudit, department, []byte{}); err != nil {
		return Audit{}, fmt.Errorf("read audit: %w", translate(err))
	}
	a, err := walkAudit(rows, department)
	a.Rows = max(count, a.Sound)
	if a.Fault == "" && texts > a.Sound {
		a.Fault = "it is missing, and its text is there"
	}
	return a, err
}

// walkAudit checks the rows of a department's audit, which it closes, up to the
// first that is not sound.
func walkAudit(rows *sql.Rows, department string) (Audit, error) {
	defer rows.Close()
	a := Audit{Department: department, Head: make([]byte, sha256.Size)}
	for rows.Next() {
		row, err := scanAudit(rows)
		if err != nil {
			return a, fmt.Errorf("read audit row after %d: %w", a.Sound, err)
		}
		if a.Fault = row.fault(department, a.Sound+1, a.Head); a.Fault != "" {
			return a, nil
		}
		a.Sound, a.Head = row.seq, row.hash
	}
	if err := rows.Err(); err != nil {
		return a, fmt.Errorf("read audit: %w", translate(err))
	}
	return a, nil
}

// soundAudits are the audits, or an error that names the first one that is broken.
func soundAudits(ctx context.Context, from queryer) ([]Audit, error) {
	audits, err := auditsIn(ctx, from)
	if err != nil {
		return nil, err
	}
	for _, a := range audits {
		if a.Fault != "" {
			return nil, fmt.Errorf("audit of %s is broken at row %d: %s", a.Department, a.Sound+1, a.Fault)
		}
	}
	return audits, nil
}
