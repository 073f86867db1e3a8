package store

import (
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"kitbell/bot"
)

// The SQLSTATE codes that the program knows what to do about, from PostgreSQL's
// appendix A, "Error Codes". A class is a code's first two characters.
const (
	classConnection = "08"
	classNotLetIn   = "28"

	stateNoCharacter   = "22021"
	stateUnique        = "23505"
	stateNotSerial     = "40001"
	stateDeadlock      = "40P01"
	stateReadOnly      = "25006"
	stateIdle          = "25P03"
	stateDiskFull      = "53100"
	stateConnections   = "53300"
	stateLocked        = "55P03"
	stateCancelled     = "57014"
	stateShutdown      = "57P01"
	stateCrash         = "57P02"
	stateStarting      = "57P03"
	stateIO            = "58030"
	stateNoDatabase    = "3D000"
	stateMayNot        = "42501"
	stateDataCorrupted = "XX001"
	stateIndexCorrupt  = "XX002"
)

// translateState says by SQLSTATE what an error is.
func translateState(state string, err error) error {
	switch state {
	case stateUnique, stateNotSerial, stateDeadlock:
		return fmt.Errorf("%w: %w", bot.ErrConflict, err)
	case stateNoCharacter:
		return say(err, sayBadText)
	case stateDiskFull:
		return say(err, sayDiskFull)
	case stateReadOnly:
		return say(err, sayStandby)
	case stateDataCorrupted, stateIndexCorrupt:
		return say(err, sayDamaged)
	case stateIO:
		return say(err, sayDiskFailed)
	case stateLocked, stateCancelled, stateIdle, stateConnections:
		return say(err, sayBusy)
	case stateShutdown, stateCrash, stateStarting:
		return say(err, sayNoServer)
	}
	if strings.HasPrefix(state, classConnection) {
		return say(err, sayNoServer)
	}
	return err
}

// translateServer is translate for the moment of opening the database called
// name, when more is known about what the person can do.
func translateServer(err error, name string) error {
	var user *bot.UserError
	if errors.As(err, &user) {
		return err
	}
	var server *pgconn.PgError
	if !errors.As(err, &server) {
		if unreachable(err) {
			return say(err, sayNotReached, name)
		}
		return err
	}
	switch {
	case strings.HasPrefix(server.Code, classNotLetIn):
		return say(err, sayNotLetIn, name)
	case server.Code == stateNoDatabase:
		return say(err, sayNoSuchDatabase, name)
	case server.Code == stateMayNot:
		return say(err, sayMayNotMake, name)
	}
	return translateState(server.Code, err)
}

// lockedOut says whether a lock could not be had in time.
func lockedOut(err error) bool {
	var server *pgconn.PgError
	return errors.As(err, &server) && server.Code == stateLocked
}

// unreachable says whether the connection to a server failed or broke.
func unreachable(err error) bool {
	var dial *pgconn.ConnectError
	var network *net.OpError
	return errors.As(err, &dial) || errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF) ||
		errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone)
}
