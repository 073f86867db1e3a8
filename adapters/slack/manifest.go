package slack

import (
	"encoding/json"
	"fmt"
	"strings"
)

// SlashCommand is the app's slash command. Such names are not kept apart by app,
// so it is one that no other app will have.
const SlashCommand = "/kitbell"

// Manifest is the app manifest, as JSON, that sets an app up with the least
// scopes (reference page "App manifests"). listening adds what plain sentences,
// marks and files need. base is the public https address of the endpoints;
// empty sets up Socket Mode.
func Manifest(listening bool, base string) ([]byte, error) {
	scopes := leastScopes()
	events := []string{"app_home_opened", "app_mention", "app_uninstalled", "channel_archive", "channel_deleted", "group_archive", "group_deleted", "member_left_channel", "message.im", "tokens_revoked"}
	if listening {
		scopes = append(scopes, wideScopes()...)
		events = append(events, "message.channels", "message.groups", "reaction_added")
	}
	subscriptions := map[string]any{"bot_events": events}
	interactivity := map[string]any{"is_enabled": true}
	slash := map[string]any{"command": SlashCommand, "description": "Ask, report, plan a door: as you would say it", "usage_hint": "Engine 1 wood wedge missing", "should_escape": false}
	if base != "" {
		base = strings.TrimSuffix(base, "/") + "/slack"
		subscriptions["request_url"], interactivity["request_url"], slash["url"] = base+"/events", base+"/interactions", base+"/commands"
	}
	manifest := map[string]any{
		"display_information": map[string]any{"name": "kitbell", "description": "The entry kit's officer in the station channel"},
		"features": map[string]any{
			"app_home":       map[string]any{"home_tab_enabled": true, "messages_tab_enabled": true, "messages_tab_read_only_enabled": false},
			"bot_user":       map[string]any{"display_name": "kitbell", "always_online": true},
			"slash_commands": []any{slash},
			"shortcuts":      []any{map[string]any{"name": "Report this", "type": "message", "callback_id": ReportShortcut, "description": "Take this message as a report"}},
		},
		"oauth_config": map[string]any{"scopes": map[string]any{"bot": scopes}},
		"settings": map[string]any{
			"event_subscriptions": subscriptions, "interactivity": interactivity, "socket_mode_enabled": base == "", "org_deploy_enabled": false,
			"token_rotation_enabled": false,
		},
	}
	out, err := json.MarshalIndent(manifest, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("encode manifest: %w", err)
	}
	return append(out, '\n'), nil
}
