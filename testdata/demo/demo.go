// Package demo is the invented department that the demo and the tests run on:
// its file, the seeded generators that made its roster and make its past.
//
// The smallest use:
//
//	dept := demo.Department()
//
// Nobody in it is real. It stores nothing; History gives what a store may be
// filled with.
package demo

import (
	"embed"
	"fmt"
	"io/fs"

	"kitbell/bot/department"
)

//go:embed department.yaml
var files embed.FS

// FS is the department's folder: department.yaml, roster included.
func FS() fs.FS { return files }

// Department is the demo department. It panics when its own file has a mistake,
// which a test would have shown.
func Department() *department.Department {
	dept, problems := department.Load(files, department.FileName)
	if dept == nil {
		panic(fmt.Sprintf("load the demo department: %v", problems.Err()))
	}
	return dept
}
