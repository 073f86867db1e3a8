// Package pgtest starts a throw-away PostgreSQL server for the tests of one
// process, from the programs that are installed.
//
// The smallest use, in a package's tests:
//
//	var server pgtest.Server
//
//	func TestMain(m *testing.M) {
//		code := m.Run()
//		server.Stop()
//		os.Exit(code)
//	}
//
//	func TestSomething(t *testing.T) { address := server.Database(t) … }
//
// The server starts when the first test wants a database, listens on a Unix
// socket in a folder of its own and on no network, and ends with the process even
// if that is killed (on Linux). It sorts text by the rules of a language, as
// servers of people's own do, so that a column without COLLATE "C" shows. The
// programs refuse to run as the administrator: then they run as postgres or
// nobody.
//
// It checks nothing, and knows nothing of the store.
package pgtest
