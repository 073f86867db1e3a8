// Package training is about what crews can do, and keeps the skill alive: which
// drill comes next, who has had a new tool in hand, whose skills are signed, and
// which sessions count for how many hours.
//
// The smallest use: a crew's next drill, and why it is that one.
//
//	histories, err := training.Histories(model, answers)
//	chooser := training.Chooser{Model: model, Policy: training.DefaultPolicy()}
//	choice, ok := chooser.Next(training.Ask{Now: now, Topics: topics, Past: histories[crew], Worth: worth})
//	why := choice.Reason.Words("the thumbturn fork")
//
// Whether a crew has had a tool that is being rolled out, and who is still to go:
//
//	open := training.RollOuts(steps)
//	held := training.Held(open, "thumbturn-fork", training.Crew{Unit: "engine-4", Platoon: "B"})
//	coverage := open[0].Coverage(roster) // 112 of 141
//
// Records work alike: a Check function refuses a bad entry with the reason
// (CheckSession, CheckRollOut, [TaskBook.Check]), a fold makes of the entries, oldest
// first, what stands now (Sessions, RollOuts, SignOffs), and nothing that was
// entered is ever changed. Hours come from sessions that an officer confirmed, and
// from nothing else.
//
// Everything here computes and nothing is stored: the journal keeps the entries,
// the command package decides when to ask and who may. The package sends nothing,
// knows no clock and no names, and does not teach: the cards do.
package training
