// Package department reads a department's file: its stations, units, kits and
// kit lists, people, channels, platoons, scheduled entries and the numbers of
// its budget. All mistakes are found at once, each with file, line, column and
// the line itself.
//
// The smallest use:
//
//	dept, problems := department.Load(os.DirFS("tarn-harbor"), department.FileName)
//
// A Loader that knows the cards also finds items, techniques and topics without
// one; Start writes a file to begin with. Anchors, aliases, tags and merge keys
// are refused, and size and depth are bounded before parsing: a hostile file is
// refused, not worked through.
//
// It stores nothing and sends nothing. Who rides which rig today, and where a
// kit is after a move, are the database's; the file only says how it began.
package department
