// Package department reads a department's file: its stations, units, kits and
// kit lists, people, channels, platoons and scheduled entries. All mistakes are
// found at once, each with file, line, column and the line itself.
//
// The smallest use:
//
//	dept, problems := department.Load(os.DirFS("tarn-harbor"), "department.yaml")
//
// It stores nothing and sends nothing. Who rides which rig today, and where a
// kit is after a move, are the database's; the file only says how it began.
package department
