//go:build tools

// Package ci pins the tools that .ci/run uses, apart from the program's own
// module.
package ci

import (
	_ "golang.org/x/vuln/cmd/govulncheck"
	_ "honnef.co/go/tools/cmd/staticcheck"
)
