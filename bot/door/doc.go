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
// the department's own records ([Planner.Learn]) say otherwise.
//
// The smallest use:
//
//	planner, err := door.NewPlanner(assumptions, techniques)
//	plan, err := planner.Plan(door.Request{Facts: facts, Tools: tools})
//
// # The plan of a technique card
//
// A card's front matter holds the technique under the key plan:
//
//	plan:
//	  step: attempt            # before, prepare, attempt or after
//	  tools:                   # one entry for each tool it takes
//	    - shove-knife
//	    - [air-wedge, {tool: wood-wedge, mark: 1, minutes: 3}]   # alternatives: the cheapest at hand
//	  people: 1
//	  minutes: 2               # for the whole attempt, all its tries
//	  tries: 3
//	  mark: 0                  # 0 none, 1 scuff, 2 scar, 3 hardware lost, 4 door or frame lost
//	  move: What to do, in 12 words at most.
//	  caution: One line.
//	  seen: {lock: mortise}    # must be known to be so
//	  needs: {swing: out}      # must be so; while unknown its chance is weighed in
//	  rules_out:               # hard; unless names preparations that lift it
//	    - {when: {plunger: in}, unless: [plunger-lean], why: "A sentence for the crew."}
//	  chance: {latch: [7, 3]}  # by hold, Beta counts: opened, not opened; all assumed
//	  with:                    # the same attempt after a preparation
//	    plunger-lean: {plunger: [6, 4]}
//
// seen and needs take one condition or a list of which one has to fit; a
// condition's values may be lists. The one technique that always opens and ends
// every plan says last: true instead of chance. Rules that come with a tool
// stand in rules.yaml and bind a department's own cards as well.
//
// The package does no I/O, keeps no state between calls and knows nothing of
// chat, of people or of where a door is. It never decides whether a crew may
// enter: lawful authority, the officer in charge and local policy do.
package door
