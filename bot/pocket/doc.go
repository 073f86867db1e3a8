// Package pocket makes what a crew has at hand without any signal: one page to
// save on a phone, and one folded sheet for the lid of a kit. Both are for one
// version of the kit list.
//
//	p, err := pocket.New(ctx, pocket.Source{Department: "…", List: list, Library: library, Planner: planner, Made: today})
//	err = p.HTML(file)          // the page
//	err = p.PDF(file, "letter") // the sheet
//
// The page asks at most six questions about a door. Each answer at the end is a
// plan that the planner made for those facts and the complete kit of that list,
// so page and bot agree by construction; a test walks the page and compares.
//
// It knows nothing of what a kit is short of today, stores nothing, and decides
// nothing: whether a crew may enter is not its matter.
package pocket
