package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
)

const (
	selectTalk = `
SELECT state, expires_at FROM talks WHERE department = $1 AND key = $2 AND expires_at > $3`

	// A conversation's key begins with its platform and ends with who speaks.
	selectLastTalk = `
SELECT key, state, expires_at FROM talks WHERE department = $1 AND expires_at > $2
AND substr(key, 1, length($3)) = $3 AND substr(key, length(key) - length($4) + 1) = $4 ORDER BY expires_at DESC, key LIMIT 1`

	upsertTalk = `
INSERT INTO talks (department, key, state, expires_at) VALUES ($1, $2, $3, $4)
ON CONFLICT (department, key) DO UPDATE SET state = excluded.state, expires_at = excluded.expires_at`

	deleteTalk = `DELETE FROM talks WHERE department = $1 AND key = $2`

	deleteExpiredTalks = `DELETE FROM talks WHERE department = $1 AND expires_at <= $2`
)

// Talk gives what a conversation remembers at now. ok is false when there is
// nothing, or when it has expired.
func (db *DB) Talk(ctx context.Context, department, key string, now time.Time) (talk bot.Talk, ok bool, err error) {
	var state string
	var expires int64
	ok, err = db.reads.row(ctx, selectTalk, []any{department, key, nanos(now)}, &state, &expires)
	if err != nil {
		return bot.Talk{}, false, fmt.Errorf("read conversation: %w", err)
	}
	if !ok {
		return bot.Talk{}, false, nil
	}
	return bot.Talk{Department: department, Key: key, State: []byte(state), Expires: moment(expires)}, true, nil
}

// LastTalk gives what a person's latest conversation on a platform remembers at
// now, threads left out. ok is false when there is none.
func (db *DB) LastTalk(ctx context.Context, department, platform, speaker string, now time.Time) (talk bot.Talk, ok bool, err error) {
	var key, state string
	var expires int64
	ok, err = db.reads.row(ctx, selectLastTalk, []any{department, nanos(now), platform + "/", "/@" + speaker}, &key, &state, &expires)
	if err != nil {
		return bot.Talk{}, false, fmt.Errorf("read latest conversation: %w", err)
	}
	if !ok {
		return bot.Talk{}, false, nil
	}
	return bot.Talk{Department: department, Key: key, State: []byte(state), Expires: moment(expires)}, true, nil
}

// keepTalk stores a turn's conversation, or forgets it when it has no state, and
// removes the department's expired ones, which hold what people said.
func keepTalk(s *session, t bot.Turn) error {
	if t.Talk == nil {
		return nil
	}
	if err := s.send(deleteExpiredTalks, t.Department, nanos(t.At)); err != nil {
		return fmt.Errorf("forget expired conversations: %w", err)
	}
	if len(t.Talk.State) == 0 {
		return s.send(deleteTalk, t.Department, t.Talk.Key)
	}
	return s.send(upsertTalk, t.Department, t.Talk.Key, string(t.Talk.State), nanos(t.Talk.Expires))
}
