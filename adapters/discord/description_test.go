package discord_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// descriptionVar names the platform's official OpenAPI description; without it
// a copy beside the project is looked for.
const descriptionVar = "KITBELL_DISCORD_OPENAPI"

var description = sync.OnceValues(func() (*jsonschema.Compiler, error) {
	path := os.Getenv(descriptionVar)
	if path == "" {
		path = "../../../shared/platform/discord-openapi.json"
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	return c, c.AddResource("discord.json", doc)
})

var (
	schemas   = map[string]*jsonschema.Schema{}
	schemasMu sync.Mutex
)

// validate holds a body to a schema of the description.
func validate(schema string, body []byte) error {
	c, err := description()
	if err != nil {
		return err
	}
	schemasMu.Lock()
	defer schemasMu.Unlock()
	if schemas[schema] == nil {
		if schemas[schema], err = c.Compile("discord.json#/components/schemas/" + schema); err != nil {
			return fmt.Errorf("compile %s: %w", schema, err)
		}
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		return err
	}
	return schemas[schema].Validate(value)
}

// descriptionIfThere lets a server hold what it gets to the description; nil
// where there is none.
func descriptionIfThere(t *testing.T) func(string, []byte) error {
	t.Helper()
	if _, err := description(); err != nil {
		t.Logf("not held to the platform's description (set %s): %v", descriptionVar, err)
		return nil
	}
	return validate
}

// The schemas are the ones that are meant: they refuse what the platform would.
func TestDescriptionRefuses(t *testing.T) {
	if _, err := description(); err != nil {
		t.Skipf("the platform's description is not here; set %s: %v", descriptionVar, err)
	}
	long := bytes.Repeat([]byte("x"), 101)
	for _, row := range []struct {
		schema string
		body   any
		ok     bool
	}{
		{"MessageCreateRequest", map[string]any{"content": "hello"}, true},
		{"MessageCreateRequest", map[string]any{"content": 7}, false},
		{"MessageCreateRequest", map[string]any{"components": []any{map[string]any{"type": 1, "components": []any{
			map[string]any{"type": 2, "style": 2, "label": "Go", "custom_id": string(long)}}}}}, false},
		{"MessageEditRequestPartial", map[string]any{"content": "hello"}, true},
	} {
		raw, err := json.Marshal(row.body)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(row.schema, raw); (err == nil) != row.ok {
			t.Errorf("%s %.60s: %v", row.schema, raw, err)
		}
	}
}
