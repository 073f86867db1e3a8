package store

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"fmt"

	"kitbell/bot"
)

const (
	selectAuditHead = `SELECT seq, hash FROM audit WHERE department = $1 ORDER BY seq DESC LIMIT 1`

	insertAudit = `
INSERT INTO audit (department, seq, at, actor, event, verb, subject, digest, prev, hash)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`

	insertAuditText = `
INSERT INTO audit_text (department, seq, salt, old_text, new_text) VALUES ($1, $2, $3, $4, $5)`

	updateAuditTextBlank = `
UPDATE audit_text SET salt = $3, old_text = '', new_text = '', blanked_at = $4 WHERE department = $1 AND seq = $2`

	selectAudit = `
SELECT a.seq, a.at, a.actor, a.event, a.verb, a.subject, a.digest, a.prev, a.hash,
    coalesce(x.salt, $2), coalesce(x.old_text, ''), coalesce(x.new_text, ''), coalesce(x.blanked_at, -1)
FROM audit a LEFT JOIN audit_text x ON x.department = a.department AND x.seq = a.seq
WHERE a.department = $1 ORDER BY a.seq`
)

// auditRow is one row of the audit with the text beside it.
type auditRow struct {
	seq                         int64
	at                          int64
	actor, event, verb, subject string
	digest, prev, hash          []byte
	salt                        []byte
	oldText, newText            string
	blankedAt                   int64 // -1 when the text's row is gone
}

// auditHead is the last row of a department's chain.
type auditHead struct {
	seq  int64
	hash []byte
}

// headOf gives the end of a department's chain. While a transaction has the
// department nobody else appends to it, so it is read once.
func headOf(s *session, department string) (auditHead, error) {
	if head, ok := s.heads[department]; ok {
		return head, nil
	}
	head := auditHead{hash: make([]byte, sha256.Size)}
	if _, err := s.row(selectAuditHead, []any{department}, &head.seq, &head.hash); err != nil {
		return auditHead{}, fmt.Errorf("read end of audit: %w", err)
	}
	return head, nil
}

// appendAudit adds a record to the department's chain.
func appendAudit(s *session, t bot.Turn, r bot.Record) error {
	head, err := headOf(s, t.Department)
	if err != nil {
		return err
	}
	row := auditRow{seq: head.seq + 1, prev: head.hash, at: nanos(t.At), actor: t.Actor, event: t.EventID,
		verb: r.Verb, subject: r.Subject, oldText: r.Old, newText: r.New, salt: make([]byte, 16)}
	rand.Read(row.salt) // never fails, as crypto/rand says
	row.digest = row.digestOfText()
	row.hash = row.chained(t.Department)
	if err := s.send(insertAudit, t.Department, row.seq, row.at, row.actor, row.event, row.verb, row.subject,
		row.digest, row.prev, row.hash); err != nil {
		return fmt.Errorf("append to audit: %w", err)
	}
	if err := s.send(insertAuditText, t.Department, row.seq, row.salt, row.oldText, row.newText); err != nil {
		return fmt.Errorf("append to audit text: %w", err)
	}
	s.heads[t.Department] = auditHead{row.seq, row.hash}
	return nil
}

// digestOfText is what remains of the text once it is blanked. The salt goes
// with the text, so that a short text cannot be guessed from its digest.
func (r auditRow) digestOfText() []byte {
	return hashOf(r.salt, []byte(r.oldText), []byte(r.newText))
}

// chained is the row's hash over all it holds and the hash before it.
func (r auditRow) chained(department string) []byte {
	number := binary.BigEndian.AppendUint64(nil, uint64(r.seq))
	at := binary.BigEndian.AppendUint64(nil, uint64(r.at))
	return hashOf(r.prev, []byte(department), number, at, []byte(r.actor), []byte(r.event), []byte(r.verb), []byte(r.subject), r.digest)
}

// hashOf is SHA-256 over the parts, each after its length, so that text cannot
// move from one part to the next.
func hashOf(parts ...[]byte) []byte {
	h := sha256.New()
	for _, p := range parts {
		h.Write(binary.BigEndian.AppendUint64(nil, uint64(len(p))))
		h.Write(p)
	}
	return h.Sum(nil)
}

// VerifyAudit walks a department's audit from its first row and checks every
// hash, and the digest of every text that was not blanked. It gives how many
// rows are sound; the error names the first one that is not. That rows are
// missing at the end it cannot see: compare the count with one noted before.
func (db *DB) VerifyAudit(ctx context.Context, department string) (sound int64, err error) {
	rows, err := db.reads.query(ctx, selectAudit, department, []byte{})
	if err != nil {
		return 0, fmt.Errorf("read audit: %w", translate(err))
	}
	return verify(rows, department)
}

// verify is VerifyAudit over the rows of a department's audit, which it closes.
func verify(rows *sql.Rows, department string) (sound int64, err error) {
	walked, err := walkAudit(rows, department)
	if err == nil && walked.Fault != "" {
		err = fmt.Errorf("audit of %s is broken at row %d: %s", department, walked.Sound+1, walked.Fault)
	}
	return walked.Sound, err
}

// fault says what is wrong with a row that should be number seq after prev;
// empty when nothing is.
func (r auditRow) fault(department string, seq int64, prev []byte) string {
	switch {
	case r.seq != seq:
		return fmt.Sprintf("it is missing, row %d comes next", r.seq)
	case !bytes.Equal(r.prev, prev):
		return "it does not follow the row before it"
	case !bytes.Equal(r.hash, r.chained(department)):
		return "it was changed"
	case r.blankedAt < 0:
		return "the text beside it is missing"
	case r.blankedAt == 0 && !bytes.Equal(r.digest, r.digestOfText()):
		return "the text beside it was changed"
	case r.blankedAt > 0 && len(r.salt)+len(r.oldText)+len(r.newText) > 0:
		return "there is text beside it that was removed"
	}
	return ""
}

func scanAudit(row rowScanner) (auditRow, error) {
	var r auditRow
	err := row.Scan(&r.seq, &r.at, &r.actor, &r.event, &r.verb, &r.subject, &r.digest, &r.prev, &r.hash,
		&r.salt, &r.oldText, &r.newText, &r.blankedAt)
	return r, err
}

// BlankAuditText removes the text beside one audit row, and its salt. The row
// stays and the chain stays sound. A row that is not there is bot.ErrNotFound.
func (db *DB) BlankAuditText(ctx context.Context, department string, seq int64) error {
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, department, func(s *session) error {
		return s.touch(bot.ErrNotFound, updateAuditTextBlank, department, seq, []byte{}, now)
	})
	if err != nil {
		return fmt.Errorf("blank text of audit row %d: %w", seq, err)
	}
	return nil
}
