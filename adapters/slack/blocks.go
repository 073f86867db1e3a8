package slack

import (
	"fmt"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// Limits of Block Kit (reference pages "Blocks" and "Block elements").
const (
	maxHeader     = 150
	maxLabel      = 75
	maxAlt        = 2000
	maxOptionText = 75
	plainButtons  = 10 // more than that are a list to choose from
	firstButtons  = 5
	maxOptions    = 100
	maxModalTitle = 24
	maxBlocks     = 50
)

// blocks lays a reply out. What people typed stands in rich text, whose
// characters are never read as marks; images are the files of the pictures,
// empty where there is none.
func blocks(r bot.Reply, images []string) []slack.Block {
	var out []slack.Block
	if r.Title != "" {
		out = append(out, slack.NewHeaderBlock(plain(bot.Shorten(r.Title, maxHeader))))
	}
	var body []slack.RichTextElement
	if rest := restOf(r.Title, maxHeader); rest != "" {
		body = append(body, line(rest, false))
	}
	if r.Text != "" {
		body = append(body, line(r.Text, false))
	}
	for i, s := range r.Steps {
		body = append(body, line(fmt.Sprintf("%d. %s", i+1, s), false))
	}
	for _, f := range r.Fields {
		body = append(body, named(f))
	}
	for i, p := range r.Pictures {
		if i >= len(images) || images[i] == "" {
			body = append(body, line("Picture: "+p.Alt, false))
		}
	}
	if len(body) > 0 {
		out = append(out, slack.NewRichTextBlock("", body...))
	}
	for i, p := range r.Pictures {
		if i < len(images) && images[i] != "" {
			out = append(out, slack.NewImageBlockSlackFile(&slack.SlackFileObject{ID: images[i]}, bot.Shorten(p.Alt, maxAlt), "", nil))
		}
	}
	return append(out, buttons(r.Buttons)...)
}

// restOf is what short cuts off, so that nothing of a long title is lost.
func restOf(text string, n int) string {
	if runes := []rune(text); len(runes) > n {
		return "…" + string(runes[n-1:])
	}
	return ""
}

func line(text string, bold bool) slack.RichTextElement {
	var style *slack.RichTextSectionTextStyle
	if bold {
		style = &slack.RichTextSectionTextStyle{Bold: true}
	}
	return slack.NewRichTextSection(slack.NewRichTextSectionTextElement(text+"\n", style))
}

func named(f bot.Field) slack.RichTextElement {
	return slack.NewRichTextSection(
		slack.NewRichTextSectionTextElement(f.Name+": ", &slack.RichTextSectionTextStyle{Bold: true}),
		slack.NewRichTextSectionTextElement(f.Value+"\n", nil),
	)
}

func plain(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.PlainTextType, text, false, false)
}

// buttons stand in a row; of many, the first stand so and the others in a list.
func buttons(all []bot.Button) []slack.Block {
	if len(all) == 0 {
		return nil
	}
	row, list := all, []bot.Button(nil)
	if len(all) > plainButtons {
		row, list = all[:firstButtons], all[firstButtons:]
	}
	elements := make([]slack.BlockElement, 0, len(row)+1)
	for i, b := range row {
		elements = append(elements, slack.NewButtonBlockElement(fmt.Sprintf("b%d", i), b.Value, plain(bot.Shorten(b.Label, maxLabel))))
	}
	if len(list) > 0 {
		elements = append(elements, slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, plain("More choices"), "more", optionsOf(list)...))
	}
	return []slack.Block{slack.NewActionBlock("", elements...)}
}

func optionsOf(all []bot.Button) []*slack.OptionBlockObject {
	options := make([]*slack.OptionBlockObject, 0, len(all))
	for _, b := range all[:min(len(all), maxOptions)] {
		options = append(options, slack.NewOptionBlockObject(b.Value, plain(bot.Shorten(b.Label, maxOptionText)), nil))
	}
	return options
}
