package command

import (
	"context"

	"kitbell/bot"
)

// IntroductionCommand shows a newcomer in three minutes what the bot is for. It is
// theirs alone.
func IntroductionCommand() Command {
	return Command{
		Name:    introVerb,
		Usage:   "introduction",
		Summary: "New here? Three minutes, for you alone.",
		Private: true,
		Run:     introduction,
	}
}

const introVerb = "introduction"

func introButton() bot.Button {
	return bot.Button{Label: "Three-minute introduction", Value: introVerb + ":begin"}
}

// introduction names what a member does with the bot, each with the words to type
// or a button that does it. Off duty it waits: nobody owes it their free time.
func introduction(_ context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Answer(guestHelp()), nil
	}
	if on := r.Department.Rotation.TourAt(r.Now).Platoon; r.Who.Platoon != "" && r.Who.Platoon != on && r.Ref != "now" {
		return Say("You are off duty now. It takes three minutes, and it is there when you are on: type introduction.",
			bot.Button{Label: "Now, all the same", Value: introVerb + ":now"}), nil
	}
	return Answer(bot.Reply{
		Title: "Three minutes, for you alone",
		Steps: []string{
			"Your rig has an entry kit. See what is in it, and what is open: kit {rig}.",
			"Something missing, broken or low? One line, as you would say it: {rig} is missing the small hook.",
			"A question about a tool, a lock, a technique: just ask. The answer has its cautions and its source.",
			"At a locked door: tap DOOR, or say what you see. You get the next thing to try, for you alone. The officer decides.",
			"Once a tour your crew gets one post: the check, and a drill. Your own answers to drills are seen by you alone: my answers.",
		},
		Buttons: []bot.Button{typed("My kit", "kit {rig}"), typed("A question", "what is the shove knife for"), StandingButton(), typed("A drill", "give us a drill"), typed("Help", "help")},
	}), nil
}
