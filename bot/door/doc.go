// Package door holds the one model of a locked door that the rest of kitbell leans on.
//
// It answers three questions from the same tables:
//
//   - What should this crew try next, with the tools this kit really has? ([Planner.Plan])
//   - What one thing is worth looking at first? ([Plan].Look)
//   - What does a missing tool cost a crew, averaged over the doors it meets? ([Planner.Worth])
//
// What can be seen of a door is [Facts]. Why it stays shut is hidden: a free
// latch, a thrown bolt, a magnet and so on, each called a hold. Techniques are
// data ([ParseTechnique]) read from the technique cards; priors and other
// figures are data too ([Assumptions]), every one of them an assumption until
// the department's own records ([Learn]) say otherwise.
//
// The smallest use:
//
//	planner, err := door.NewPlanner(assumptions, techniques)
//	plan, err := planner.Plan(door.Request{Facts: facts, Kit: tools})
//
// The package does no I/O, keeps no state between calls and knows nothing of
// chat, of people or of where a door is. It never decides whether a crew may
// enter: lawful authority, the officer in charge and local policy do.
package door
