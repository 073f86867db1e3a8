package main

import (
	"context"
	"flag"
	"fmt"
	"net/url"
	"os"
	"path/filepath"

	"kitbell/bot"
	"kitbell/bot/store"
)

// databaseFile is the database's name in the department's folder.
const databaseFile = "kitbell.db"

// databaseAddress is the variable with the address of a PostgreSQL database, or
// with _FILE behind it the name of a file that holds it.
const databaseAddress = "KITBELL_DB"

// home is where departments live: the folder with their files, and their
// database.
type home struct {
	dir     string // empty for the demo department
	address string // of a PostgreSQL database; empty where none was named with --db
}

// homeFlags adds the flags that name it.
func homeFlags(flags *flag.FlagSet, folder string) *home {
	h := new(home)
	flags.StringVar(&h.dir, "c", "", folder)
	flags.StringVar(&h.address, "db", "", "address of a PostgreSQL database ("+databaseAddress+", or else the file "+databaseFile+" in the folder)")
	return h
}

// database is the place of the departments' store: what --db names, else what the
// environment names, else the file in their folder. No log will show the address.
func (h *home) database(keys *secrets) (place string, err error) {
	address := h.address
	if address == "" {
		if address, err = keys.read(databaseAddress); err != nil {
			return "", err
		}
	}
	if address == "" {
		return filepath.Join(h.dir, databaseFile), nil
	}
	return address, checkAddress(address, keys)
}

// named is the place of the store where a folder or an address was named.
func (h *home) named(keys *secrets) (place string, err error) {
	place, err = h.database(keys)
	if err == nil && h.dir == "" && !store.IsPostgres(place) {
		err = usagef("name the folder of the department with -c DIR")
	}
	return place, err
}

// openCopy opens a throw-away copy of the departments' store.
func (h *home) openCopy(ctx context.Context, o store.Options) (*store.DB, error) {
	place, err := h.database(environment())
	if err != nil {
		return nil, err
	}
	return store.OpenCopy(ctx, place, o)
}

// checkAddress refuses what is no address of a PostgreSQL database, which might be
// a mistyped one with a password in it, and keeps a good one out of the log.
func checkAddress(address string, keys *secrets) error {
	if !store.IsPostgres(address) {
		return &bot.UserError{Say: fmt.Sprintf("The address of a database begins with postgres:// (--db, %s).", databaseAddress)}
	}
	keys.known = append(keys.known, address)
	if u, err := url.Parse(address); err == nil {
		if password, ok := u.User.Password(); ok && password != "" {
			keys.known = append(keys.known, password)
		}
	}
	return nil
}

// environment reads this process's secrets.
func environment() *secrets { return &secrets{getenv: os.Getenv} }
