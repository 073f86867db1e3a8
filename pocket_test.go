package main

import (
	"strings"
	"testing"
)

// What pocket cannot do it says in a sentence, before it works for seconds.
// That it writes the files is tested in bot/pocket and by the browser's test.
func TestPocketWrongWords(t *testing.T) {
	tests := []struct {
		name string
		args []string
		code int
		says string
	}{
		{"no folder to write to", nil, exitUsage, "--out DIR"},
		{"unknown paper", []string{"--out", t.TempDir(), "--paper", "napkin"}, exitUsage, "letter or a4"},
		{"a list that is not there", []string{"--out", t.TempDir(), "--list", "9"}, exitError, "no kit list 9"},
		{"a department that is not there", []string{"-c", t.TempDir() + "/none", "--out", t.TempDir()}, exitError, "no folder"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			code, printed := cli(t, "", append([]string{"pocket"}, tt.args...)...)
			if code != tt.code || !strings.Contains(printed, tt.says) {
				t.Errorf("exit %d, want %d with %q:\n%s", code, tt.code, tt.says, printed)
			}
		})
	}
}
