package slack

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"kitbell/bot"
)

// errTooBig ends a download that is larger than was asked for.
var errTooBig = errors.New("file is larger than the limit")

// Fetch gives the content of a file of the platform's. Its address comes from
// the platform's API, never from a person, and its host must be the platform's.
// The file's ID is as it came with its event: workspace/file.
func (a *Adapter) Fetch(ctx context.Context, f bot.File, limit int64) ([]byte, error) {
	workspace, id, ok := strings.Cut(f.ID, "/")
	if !ok {
		return nil, errors.New("file has no workspace")
	}
	api, err := a.api(workspace)
	if err != nil {
		return nil, err
	}
	info, _, _, err := api.GetFileInfoContext(ctx, id, 0, 0)
	if err != nil {
		return nil, fmt.Errorf("look file up: %w", a.translate(err, true))
	}
	if int64(info.Size) > limit {
		return nil, errTooBig
	}
	if !a.ours(info.URLPrivateDownload) {
		return nil, errors.New("file does not lie on the platform")
	}
	into := &capped{limit: limit}
	if err := api.GetFileContext(ctx, info.URLPrivateDownload, into); err != nil {
		return nil, fmt.Errorf("fetch file: %w", a.translate(err, true))
	}
	return into.Bytes(), nil
}

// ours says whether an address is the platform's: of the API's own host, or of
// the host that the platform keeps files on.
func (a *Adapter) ours(address string) bool {
	api, err := url.Parse(a.options.API)
	if err != nil {
		return false
	}
	u, err := url.Parse(address)
	return err == nil && bot.CheckServer(address, "https", "http") == nil &&
		(u.Host == api.Host || api.Host == "slack.com" && strings.HasSuffix(u.Hostname(), ".slack.com"))
}

// capped is a buffer that takes at most limit bytes.
type capped struct {
	bytes.Buffer
	limit int64
}

// Write fails past the limit.
func (c *capped) Write(p []byte) (int, error) {
	if int64(c.Len()+len(p)) > c.limit {
		return 0, errTooBig
	}
	return c.Buffer.Write(p)
}
