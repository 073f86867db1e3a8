package store

import (
	"context"
	"fmt"
)

const (
	selectSetting = `SELECT value FROM settings WHERE department = $1 AND name = $2`

	upsertSetting = `
INSERT INTO settings (department, name, value) VALUES ($1, $2, $3)
ON CONFLICT (department, name) DO UPDATE SET value = excluded.value`
)

// Setting gives a small fact that was kept under name; ok is false when there is
// none.
func (db *DB) Setting(ctx context.Context, department, name string) (value string, ok bool, err error) {
	ok, err = db.reads.row(ctx, selectSetting, []any{department, name}, &value)
	if err != nil {
		return "", false, fmt.Errorf("read setting %s: %w", name, err)
	}
	return value, ok, nil
}

// SetSetting keeps a small fact under name. It leaves no audit row: what people
// decide goes through a turn.
func (db *DB) SetSetting(ctx context.Context, department, name, value string) error {
	err := db.write(ctx, department, func(s *session) error {
		return s.send(upsertSetting, department, name, value)
	})
	if err != nil {
		return fmt.Errorf("write setting %s: %w", name, err)
	}
	return nil
}
