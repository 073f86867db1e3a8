// Package adaptertest is the contract of bot.Adapter as tests: what the rest of
// the program relies on, whatever the chat platform.
//
// The smallest use, in the tests of an adapter:
//
//	func TestContract(t *testing.T) {
//		adaptertest.Run(t, func(t *testing.T) adaptertest.Platform { ... })
//	}
//
// The function opens an adapter on a platform of its own, a fake server or a
// pair of pipes, and says how to act on that platform as a person would. Screen
// is a help for it: it keeps what was shown.
//
// It does not look at how a message is laid out, nor at how a platform's own
// errors are told apart: that is for each adapter's own tests.
package adaptertest
