package slack

import (
	"encoding/json"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// inputAction is the id of the one element of each input; the block's id is the
// input's name.
const inputAction = "in"

// modal lays a form out. where comes back with what is sent, so that the answer
// goes where the form was asked for.
func modal(f bot.Form, where bot.Address) slack.ModalViewRequest {
	from, err := json.Marshal(bot.Address{Channel: where.Channel, Thread: where.Thread})
	if err != nil {
		from = nil // two strings always encode
	}
	v := slack.ModalViewRequest{
		Type: slack.VTModal, Title: plain(bot.Shorten(f.Title, maxModalTitle)), Submit: plain("Send"), Close: plain("Cancel"),
		CallbackID: f.ID, PrivateMetadata: string(from),
	}
	for _, in := range f.Inputs {
		v.Blocks.BlockSet = append(v.Blocks.BlockSet, inputOf(in))
	}
	return v
}

func inputOf(in bot.FormInput) slack.Block {
	if len(in.Choices) == 0 {
		element := slack.NewPlainTextInputBlockElement(nil, inputAction)
		element.Multiline, element.InitialValue = in.Long, in.Value
		block := slack.NewInputBlock(in.Name, plain(bot.Shorten(in.Label, maxLabel)), nil, element)
		block.Optional = !in.Needed
		return block
	}
	var options []*slack.OptionBlockObject
	var chosen *slack.OptionBlockObject
	for _, c := range in.Choices[:min(len(in.Choices), maxOptions)] {
		option := slack.NewOptionBlockObject(c.Value, plain(bot.Shorten(c.Label, maxOptionText)), nil)
		options = append(options, option)
		if c.Value == in.Value {
			chosen = option
		}
	}
	element := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, plain("Choose"), inputAction, options...)
	element.InitialOption = chosen
	block := slack.NewInputBlock(in.Name, plain(bot.Shorten(in.Label, maxLabel)), nil, element)
	block.Optional = !in.Needed
	return block
}

// home is a person's page.
func home(r bot.Reply) slack.HomeTabViewRequest {
	return slack.HomeTabViewRequest{Type: slack.VTHomeTab, Blocks: slack.Blocks{BlockSet: blocks(r, nil)}}
}
