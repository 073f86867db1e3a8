package slack

import "strings"

// readable undoes the platform's marks in what a person typed (reference page
// "Formatting text"): <@U1>, <#C1|name>, <https://…|label>, <!here>, and the
// three escapes.
func readable(text string) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, "<")
		b.WriteString(before)
		if !found {
			break
		}
		mark, after, closed := strings.Cut(rest, ">")
		if !closed {
			b.WriteString("<" + rest)
			break
		}
		b.WriteString(readMark(mark))
		text = after
	}
	return unescape(b.String())
}

func readMark(mark string) string {
	target, label, labelled := strings.Cut(mark, "|")
	switch {
	case strings.HasPrefix(mark, "!"):
		return label
	case labelled && strings.HasPrefix(mark, "#"):
		return "#" + label
	case labelled:
		return label
	}
	return strings.TrimPrefix(target, "mailto:")
}

func unescape(text string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(text)
}

// escape keeps what people typed from being a mark of the platform's.
func escape(text string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(text)
}

// firstMention is the user id of the first mention in a text.
func firstMention(text string) string {
	_, rest, found := strings.Cut(text, "<@")
	id, _, closed := strings.Cut(rest, ">")
	if !found || !closed {
		return ""
	}
	id, _, _ = strings.Cut(id, "|")
	return id
}
