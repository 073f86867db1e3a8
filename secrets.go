package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"strings"

	"kitbell/bot"
)

// The names of the secrets in the environment. Each may have _FILE behind it,
// and then names a file that holds the secret. The Slack bot's may have an
// underscore and a workspace's id behind it, for one workspace of several.
const (
	slackAppToken      = "KITBELL_SLACK_APP_TOKEN"
	slackBotToken      = "KITBELL_SLACK_BOT_TOKEN"
	slackSigningSecret = "KITBELL_SLACK_SIGNING_SECRET"
	discordToken       = "KITBELL_DISCORD_TOKEN"
	discordPublicKey   = "KITBELL_DISCORD_PUBLIC_KEY"
)

// secrets reads tokens from the environment and remembers them, so that no log
// shows one. Tokens are never in the department's file nor in the database.
type secrets struct {
	getenv func(string) string
	known  []string
}

// read gives a secret; empty when it is not set. A file that others on the
// machine may read is refused.
func (s *secrets) read(name string) (string, error) {
	value := s.getenv(name)
	if path := s.getenv(name + "_FILE"); path != "" {
		if value != "" {
			return "", &bot.UserError{Say: fmt.Sprintf("%s and %s_FILE are both set. Keep one.", name, name)}
		}
		var err error
		if value, err = readSecretFile(name, path); err != nil {
			return "", err
		}
	}
	value = strings.TrimSpace(value)
	if value != "" {
		s.known = append(s.known, value)
	}
	return value, nil
}

func readSecretFile(name, path string) (string, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", &bot.UserError{Say: fmt.Sprintf("%s_FILE names a file that is not there.", name), Err: err}
	case err != nil:
		return "", &bot.UserError{Say: fmt.Sprintf("%s_FILE names a file that I cannot look at.", name), Err: err}
	case info.IsDir():
		return "", &bot.UserError{Say: fmt.Sprintf("%s_FILE names a folder. Name the file with the token in it.", name)}
	case info.Mode().Perm()&0o004 != 0:
		return "", &bot.UserError{Say: fmt.Sprintf("The file that %s_FILE names can be read by everybody on this machine. Type: chmod 600 and its name.", name)}
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return "", &bot.UserError{Say: fmt.Sprintf("%s_FILE names a file that I cannot read.", name), Err: err}
	}
	return string(raw), nil
}

// redact takes known secrets out of what a log line holds. It is a
// slog.HandlerOptions.ReplaceAttr.
func (s *secrets) redact(_ []string, a slog.Attr) slog.Attr {
	text := a.Value.String()
	if a.Value.Kind() == slog.KindAny {
		text = fmt.Sprint(a.Value.Any())
	}
	clean := text
	for _, secret := range s.known {
		clean = strings.ReplaceAll(clean, secret, "(secret)")
	}
	if clean != text {
		a.Value = slog.StringValue(clean)
	}
	return a
}
