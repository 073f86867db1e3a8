package store

import (
	"context"
	"fmt"
	"time"
)

// The clock of a lease is the database's, which all processes share. Nothing else
// asks it for the time.
const (
	sqliteNow   = `CAST(unixepoch('subsec') * 1000 AS INTEGER) * 1000000`
	postgresNow = `CAST(extract(epoch FROM clock_timestamp()) * 1000000000 AS BIGINT)`
)

const (
	claimLease = `
INSERT INTO leases (name, owner, until, term) VALUES ($1, $2, {now} + $3, 1)
ON CONFLICT (name) DO UPDATE SET owner = excluded.owner, until = excluded.until,
    term = CASE WHEN leases.owner = excluded.owner THEN leases.term ELSE leases.term + 1 END
WHERE leases.owner = excluded.owner OR leases.until <= {now}
RETURNING term`

	releaseLease = `UPDATE leases SET until = 0 WHERE name = $1 AND owner = $2`
)

// Claim takes the lease of a name for a span from now on, by the database's
// clock: one that nobody has, that has run out, or the owner's own, which it
// renews. held is false when another has it. term rises with every new owner: what
// was begun under a lower one is over. Whoever holds a lease claims it again well
// before its span is over, and stops its work when that fails. Blocks for the
// disk.
func (db *DB) Claim(ctx context.Context, name, owner string, span time.Duration) (term int64, held bool, err error) {
	err = db.write(ctx, leased(name), func(s *session) error {
		var err error
		held, err = s.row(s.dialect.at(claimLease), []any{name, owner, int64(span)}, &term)
		return err
	})
	if err != nil {
		return 0, false, fmt.Errorf("claim lease of %s: %w", name, err)
	}
	return term, held, nil
}

// Release gives a lease back before it runs out. One that the owner does not hold
// stays as it is. Blocks for the disk.
func (db *DB) Release(ctx context.Context, name, owner string) error {
	err := db.write(ctx, leased(name), func(s *session) error { return s.send(releaseLease, name, owner) })
	if err != nil {
		return fmt.Errorf("release lease of %s: %w", name, err)
	}
	return nil
}

// leased puts a lease where departments stand in the writer's order, so that
// processes which claim several wait for each other in one order. No department's
// slug has a colon.
func leased(name string) string { return "lease:" + name }
