package store

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/kit"
)

const (
	insertPhoto = `
INSERT INTO photos (department, name, line, member, at, jpeg) VALUES ($1, $2, $3, $4, $5, $6)
ON CONFLICT (department, name) DO NOTHING`

	deletePhoto = `DELETE FROM photos WHERE department = $1 AND name = $2`

	selectPhotosOfLine = `
SELECT name, line, member, at FROM photos WHERE department = $1 AND line = $2 ORDER BY at, name`

	selectPhoto = `
SELECT name, line, member, at, jpeg FROM photos WHERE department = $1 AND name = $2`
)

// Photos gives the pictures that were kept with a line, oldest first, without
// their bytes.
func (db *DB) Photos(ctx context.Context, department string, line int) ([]kit.Photo, error) {
	rows, err := db.reads.query(ctx, selectPhotosOfLine, department, line)
	photos, err := collect(rows, err, scanPhotoHead)
	if err != nil {
		return nil, fmt.Errorf("read photos of line %d: %w", line, err)
	}
	return photos, nil
}

// Photo gives a picture with its bytes; bot.ErrNotFound when it is not there.
func (db *DB) Photo(ctx context.Context, department, name string) (kit.Photo, error) {
	rows, err := db.reads.query(ctx, selectPhoto, department, name)
	photos, err := collect(rows, err, scanPhoto)
	if err == nil && len(photos) == 0 {
		err = bot.ErrNotFound
	}
	if err != nil {
		return kit.Photo{}, fmt.Errorf("read photo %s: %w", name, err)
	}
	return photos[0], nil
}

func writePhoto(s *session, t bot.Turn, p kit.Photo) (added bool, err error) {
	n, err := s.exec(insertPhoto, t.Department, p.Name, p.Line, p.By, nanos(p.At), p.JPEG)
	return n == 1, err
}

func dropPhoto(s *session, t bot.Turn, name string) (dropped bool, err error) {
	n, err := s.exec(deletePhoto, t.Department, name)
	return n == 1, err
}

func scanPhotoHead(row rowScanner) (kit.Photo, error) {
	var p kit.Photo
	var at int64
	err := row.Scan(&p.Name, &p.Line, &p.By, &at)
	p.At = moment(at)
	return p, err
}

func scanPhoto(row rowScanner) (kit.Photo, error) {
	var p kit.Photo
	var at int64
	if err := row.Scan(&p.Name, &p.Line, &p.By, &at, &p.JPEG); err != nil {
		return kit.Photo{}, err
	}
	p.At = moment(at)
	return p, nil
}
