package slack

import "regexp"

// The shapes of the platform's ids: a letter for the kind, then capitals and
// digits (PLATFORMS.md; the platform promises no length).
var (
	workspaceID = regexp.MustCompile(`^T[A-Z0-9]{1,20}$`)
	channelID   = regexp.MustCompile(`^[CG][A-Z0-9]{1,20}$`)
	accountID   = regexp.MustCompile(`^[UW][A-Z0-9]{1,20}$`)
)

// IsWorkspace says whether a text looks like a workspace's id.
func IsWorkspace(id string) bool { return workspaceID.MatchString(id) }

// IsChannel says whether a text looks like a channel's id.
func IsChannel(id string) bool { return channelID.MatchString(id) }

// IsAccount says whether a text looks like a person's id.
func IsAccount(id string) bool { return accountID.MatchString(id) }
