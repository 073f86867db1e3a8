// Package kit is about the entry kits: what belongs in one (List), where each
// one is (Kit, Place), what is wrong with it (Line, the queue), and what a
// check found (Check).
//
// The smallest use: decide what a report does to the open lines of the queue.
//
//	report := kit.Report{Kit: "k07", Unit: "engine-4", Item: "traveler-hook-small",
//		Condition: kit.Missing, Count: 1, By: "ines-okafor", At: now}
//	line, ok := kit.Find(open, report)
//	// ok: kit.Join(line, report) is the step; else kit.Open(report, next)
//
// Everything here computes and nothing is stored: the store package keeps the
// rows, the command package decides when to ask.
package kit
