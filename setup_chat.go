package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"kitbell/adapters/discord"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

// runSlack prints what sets an app up at Slack.
func runSlack(_ context.Context, args []string, s streams) error {
	if len(args) == 0 || args[0] != "manifest" {
		return usagef("the word behind slack is manifest")
	}
	flags := flag.NewFlagSet("slack manifest", flag.ContinueOnError)
	listening := flags.Bool("listening", false, "for channels that are opened to plain sentences")
	base := flags.String("http", "", "public https address, in place of Socket Mode")
	if err := parse(flags, args[1:], 0, s); err != nil {
		return err
	}
	if *base != "" && !strings.HasPrefix(*base, "https://") {
		return usagef("--http is an address that begins with https://, not %q", *base)
	}
	manifest, err := slack.Manifest(*listening, *base)
	if err != nil {
		return err
	}
	_, err = s.out.Write(manifest)
	return err
}

// runDiscord prints the link that lets the bot in.
func runDiscord(_ context.Context, args []string, s streams) error {
	if len(args) != 2 || args[0] != "invite" {
		return usagef("the words behind discord are invite and the application's id")
	}
	if id := args[1]; strings.Trim(id, "0123456789") != "" || len(id) < 15 || len(id) > 25 {
		return &bot.UserError{Say: "An application's id is a number of about 18 digits. It stands on the application's first page."}
	}
	fmt.Fprintln(s.out, discord.Invite(args[1]))
	return nil
}

// runService prints a systemd unit for a department's folder. It writes nothing
// by itself: where it goes is the administrator's to say.
func runService(_ context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("service", flag.ContinueOnError)
	dir := flags.String("c", "", "folder of the department")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	if *dir == "" {
		return usagef("name the department's folder with -c DIR")
	}
	folder, err := filepath.Abs(*dir)
	if err != nil {
		return fmt.Errorf("find folder: %w", err)
	}
	if _, err := departmentFolders(folder); err != nil {
		return err
	}
	program, err := os.Executable()
	if err != nil {
		return fmt.Errorf("find program: %w", err)
	}
	fmt.Fprintf(s.out, `# Save this as /etc/systemd/system/kitbell.service. Then, as root:
#   useradd --system kitbell; chown -R kitbell: %s
#   install -m 600 /dev/null /etc/kitbell/secrets.env    (and put the tokens in)
#   systemctl daemon-reload; systemctl enable --now kitbell
# After a change of the department's files: systemctl reload kitbell
# For a backup each night, in a folder that kitbell owns: add --backup FOLDER to
# ExecStart, and the folder to ReadWritePaths.
[Unit]
Description=kitbell, the entry kit's officer
Wants=network-online.target
After=network-online.target

[Service]
ExecStart="%s" run -c "%s"
ExecReload=/bin/kill -HUP $MAINPID
# The tokens, one NAME=value a line; only root may read it.
EnvironmentFile=/etc/kitbell/secrets.env
User=kitbell
Restart=on-failure
RestartSec=5
TimeoutStopSec=10
UMask=0077
NoNewPrivileges=yes
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
ReadWritePaths="%s"

[Install]
WantedBy=multi-user.target
`, folder, commandWord(program), commandWord(folder), unitWord(folder))
	return nil
}

// unitWord is a path between the quotes of a unit file (systemd.syntax(7)): a
// per cent sign begins a specifier.
func unitWord(path string) string {
	return strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%").Replace(path)
}

// commandWord is one between those of a command line, where a dollar sign begins
// a variable (systemd.service(5)).
func commandWord(path string) string { return strings.ReplaceAll(unitWord(path), "$", "$$") }
