package knowledge

import (
	"io/fs"
	"net/url"
	"path"
	"slices"
	"strings"
)

// Link is a picture or a video that a department's own card points at, written
// in the front matter as "label: target" under the key links.
type Link struct {
	Label  string
	Target string // an https address, or a file beside the cards
	Line   int
}

// Online says whether the link leads out of the department's folder.
func (l Link) Online() bool { return strings.HasPrefix(l.Target, "https://") }

// Picture says whether the link is a file that can be shown as a picture.
func (l Link) Picture() bool {
	return !l.Online() && slices.Contains([]string{".png", ".jpg", ".jpeg"}, strings.ToLower(path.Ext(l.Target)))
}

// links reads the links of a card. A file is looked for when the card is loaded.
func (f *frontMatter) links(texts []string, line int) []Link {
	var links []Link
	for _, text := range texts {
		label, target, ok := strings.Cut(text, ": ")
		link := Link{Label: strings.TrimSpace(label), Target: strings.TrimSpace(target), Line: line}
		switch {
		case !ok || link.Label == "" || link.Target == "":
			f.report.add(line, "a link is written as label: target, not %q", text)
		case strings.Contains(link.Target, "://"):
			if address, err := url.Parse(link.Target); err != nil || address.Scheme != "https" || address.Host == "" || address.User != nil {
				f.report.add(line, "%q is no https address", link.Target)
			}
		case !fs.ValidPath(link.Target):
			f.report.add(line, "%q must be a file in the folder of the cards", link.Target)
		}
		links = append(links, link)
	}
	return links
}

// checkLinks reports the files of a card's links that are not in its folder.
func checkLinks(fsys fs.FS, c *Card) []Problem {
	r := &report{file: c.File}
	for _, link := range c.Links {
		if link.Online() {
			continue
		}
		if !inFolder(fsys, link.Target) {
			r.add(link.Line, "there is no file %s in the folder of the cards", link.Target)
		}
	}
	return r.problems
}

// inFolder says whether name is a file of fsys itself. A symbolic link, in the
// name or on the way to it, could lead out of the folder, so it is none.
func inFolder(fsys fs.FS, name string) bool {
	info, err := fs.Lstat(fsys, name)
	if err != nil || !info.Mode().IsRegular() {
		return false
	}
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		if info, err := fs.Lstat(fsys, dir); err != nil || !info.IsDir() {
			return false
		}
	}
	return true
}
