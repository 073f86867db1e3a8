// Package training is about what crews can do: so far the roll-out of a new
// tool, crew by crew.
//
// The smallest use: whether a crew has had a tool that is being rolled out.
//
//	open := training.RollOuts(steps)
//	held := training.Held(open, "thumbturn-fork", training.Crew{Unit: "engine-4", Platoon: "B"})
//
// Everything here computes and nothing is stored: the journal keeps the steps,
// the command package decides when to ask.
package training
