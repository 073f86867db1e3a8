package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot/store"
)

// scheduledPrefix begins the names of backups that run makes by itself. Rotation
// looks at no others.
const scheduledPrefix = "kitbell-scheduled-"

var scheduledName = regexp.MustCompile(`^` + scheduledPrefix + `(\d{8}T\d{6}Z)-(.+)` + regexp.QuoteMeta(backupEnding) + `$`)

// keeping is how many backups stay: the newest of each of so many days, weeks and
// months that have one.
type keeping struct{ days, weeks, months int }

func (k keeping) String() string { return fmt.Sprintf("%d,%d,%d", k.days, k.weeks, k.months) }

// Set reads three numbers between commas. It implements flag.Value.
func (k *keeping) Set(text string) error {
	parts := strings.Split(text, ",")
	if len(parts) != 3 {
		return errors.New("write how many days, weeks and months, like 7,5,12")
	}
	for i, into := range []*int{&k.days, &k.weeks, &k.months} {
		n, err := strconv.Atoi(strings.TrimSpace(parts[i]))
		if err != nil || n < 0 || n > 1000 {
			return errors.New("write how many days, weeks and months, like 7,5,12")
		}
		*into = n
	}
	if k.days < 1 {
		return errors.New("keep one day's at least")
	}
	return nil
}

// kept says which of these moments, newest first, stay. Days are those of a zone.
func (k keeping) kept(moments []time.Time, zone *time.Location) []bool {
	stay := make([]bool, len(moments))
	for _, span := range []struct {
		most int
		name func(time.Time) string
	}{
		{k.days, func(t time.Time) string { return t.Format(time.DateOnly) }},
		{k.weeks, func(t time.Time) string { year, week := t.ISOWeek(); return fmt.Sprint(year, " ", week) }},
		{k.months, func(t time.Time) string { return t.Format("2006-01") }},
	} {
		last, n := "", 0
		for i, at := range moments {
			if name := span.name(at.In(zone)); name != last && n < span.most {
				stay[i], last, n = true, name, n+1
			}
		}
	}
	return stay
}

// scheduledBackup is a backup that run made by itself.
type scheduledBackup struct {
	path, whom string
	at         time.Time
}

// scheduledIn finds the backups of a folder that run made by itself, newest first:
// plain files with such a name, and with a checksum beside them that names them.
func scheduledIn(folder string) ([]scheduledBackup, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, fmt.Errorf("look for backups: %w", err)
	}
	var all []scheduledBackup
	for _, e := range entries {
		m := scheduledName.FindStringSubmatch(e.Name())
		if m == nil || !e.Type().IsRegular() {
			continue
		}
		at, err := time.Parse(backupTime, m[1])
		path := filepath.Join(folder, e.Name())
		if err == nil && madeHere(path) {
			all = append(all, scheduledBackup{path: path, whom: m[2], at: at})
		}
	}
	slices.SortFunc(all, func(a, b scheduledBackup) int { return b.at.Compare(a.at) })
	return all, nil
}

func madeHere(path string) bool {
	raw, err := os.ReadFile(path + store.SumSuffix)
	return err == nil && strings.HasSuffix(strings.TrimSpace(string(raw)), "  "+filepath.Base(path))
}

// rotate removes the scheduled backups of these departments that need not stay, and
// gives their names.
func rotate(folder, whom string, k keeping, zone *time.Location) (gone []string, err error) {
	all, err := scheduledIn(folder)
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(b scheduledBackup) bool { return b.whom != whom })
	moments := make([]time.Time, len(all))
	for i, b := range all {
		moments[i] = b.at
	}
	for i, stays := range k.kept(moments, zone) {
		if stays {
			continue
		}
		if err := errors.Join(os.Remove(all[i].path), os.Remove(all[i].path+store.SumSuffix)); err != nil {
			return gone, fmt.Errorf("remove old backup: %w", err)
		}
		gone = append(gone, filepath.Base(all[i].path))
	}
	return gone, nil
}
