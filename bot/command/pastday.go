package command

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/understand"
)

// Records are of what has been: a session that was held, a skill that was shown. A
// weekday in them is the last such day, and 20 Nov the last such date.

const (
	monthNames = `(?:jan|feb|mar|apr|may|jun|jul|aug|sept?|oct|nov|dec)[a-z]*\.?`
	dayNames   = `(?:mon|tue(?:s)?|wed(?:nes)?|thu(?:r|rs)?|fri|sat(?:ur)?|sun)(?:day)?`
)

var (
	daySaid = regexp.MustCompile(`(?i)\b(?:on |of )?(?:the )?(?:` +
		`today|tonight|yesterday|(?:last |this |past )?` + dayNames + `|this (?:morning|afternoon|evening)|last night` +
		`|\d{4}-\d{2}-\d{2}|\d{1,2}/\d{1,2}(?:/\d{2,4})?` +
		`|\d{1,2}(?:st|nd|rd|th)? (?:of )?` + monthNames + `(?:,? \d{4})?|` + monthNames + ` \d{1,2}(?:st|nd|rd|th)?(?:,? \d{4})?` +
		`|(?:\d{1,3}|a|one|two|three|four|five|six|seven) days? ago)(?:$|[^\pL\pN/:-])`)
	daysAgo   = regexp.MustCompile(`(?i)\b(\d{1,3}|a|one|two|three|four|five|six|seven) days? ago`)
	dayFiller = regexp.MustCompile(`(?i)\b(?:on|of|the|last|this|past)\b`)
)

// pastDay is the local midnight of the one day that a text names, and the text
// without it; ok is false when it names none. Two days, or one that there is not,
// are an error for the person.
func (r *Request) pastDay(text string) (day time.Time, rest string, ok bool, err error) {
	rest = text
	for {
		said := daySaid.FindString(rest)
		if said == "" {
			return day, rest, ok, nil
		}
		rest = strings.Replace(rest, said, " ", 1)
		this, known := r.dayBefore(strings.Trim(said, " ,.;"))
		if !known || ok && !this.Equal(day) {
			return day, rest, ok, bot.SayWhichDay.With(strings.Trim(said, " ,.;"))
		}
		day, ok = this, true
	}
}

// dayBefore is the midnight of a day as people say it, today or before, unless the
// words give a year that is to come.
func (r *Request) dayBefore(said string) (time.Time, bool) {
	now := r.Now.In(r.Department.Zone)
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	if ago := daysAgo.FindStringSubmatch(said); ago != nil {
		return today.AddDate(0, 0, -smallNumber(ago[1])), true
	}
	word := strings.ToLower(strings.TrimSpace(dayFiller.ReplaceAllString(said, " ")))
	switch word {
	case "morning", "afternoon", "evening":
		return today, true
	case "night":
		return today.AddDate(0, 0, -1), true
	}
	day, ok := dayOf(word, now)
	if !ok {
		days := r.Read(word, understand.Context{}).Days
		if len(days) != 1 {
			return time.Time{}, false
		}
		word = days[0]
		day, ok = dayOf(word, now)
	}
	if !ok || !day.After(today) || strings.Count(word, "-") == 2 {
		return day, ok
	}
	if strings.Contains(word, "-") { // 11-20: the last time that it was
		return dayInPast(day, today), true
	}
	return day.AddDate(0, 0, -7), true
}

// dayInPast is the same day of the last year that had it.
func dayInPast(day, today time.Time) time.Time {
	for year := today.Year(); ; year-- {
		past := time.Date(year, day.Month(), day.Day(), 0, 0, 0, 0, day.Location())
		if past.Day() == day.Day() && !past.After(today) {
			return past
		}
	}
}

// smallNumber is a number in digits or a word up to twelve; 0 for anything else.
func smallNumber(word string) int {
	for i, name := range []string{"", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"} {
		if i > 0 && strings.EqualFold(word, name) {
			return i
		}
	}
	if strings.EqualFold(word, "a") {
		return 1
	}
	n, err := strconv.Atoi(word)
	if err != nil {
		return 0
	}
	return n
}
