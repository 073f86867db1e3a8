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
	monthNames = `(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\b\.?`
	yearBehind = `(?:,? 20[23]\d\b)?` // 20 Nov 0800 is no year
	dayNames   = `(?:mon|tue(?:s)?|wed(?:nes)?|thu(?:r|rs)?|fri|sat(?:ur)?|sun)(?:day)?`
)

var (
	daySaid = regexp.MustCompile(`(?i)\b(?:on |of )?(?:the )?(?:` +
		`today|tonight|yesterday|(?:last |this |past )?` + dayNames + `|this (?:morning|afternoon|evening)|last night` +
		`|tomorrow|(?:last|this|next) (?:week|month|year|weekend)|in ` + monthNames + `|the \d{1,2}(?:st|nd|rd|th)|\d{1,2}\.\d{1,2}\.\d{2,4}` +
		`|\d{4}-\d{2}-\d{2}|\d{1,2}/\d{1,2}(?:/\d{2,4})?` +
		`|\d{1,2}(?:st|nd|rd|th)? (?:of )?` + monthNames + yearBehind + `|` + monthNames + ` \d{1,2}(?:st|nd|rd|th)?` + yearBehind +
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
		if known && ok && !this.Equal(day) {
			return day, rest, ok, bot.SayTwoDays.With()
		}
		if !known {
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
	case "tomorrow":
		return today.AddDate(0, 0, 1), true
	case "morning", "afternoon", "evening":
		return today, true
	case "night":
		return today.AddDate(0, 0, -1), true
	}
	if dotted := dottedDay.FindStringSubmatch(word); dotted != nil {
		return r.dottedDay(dotted)
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
		past := dayInPast(day, today)
		return past, today.Sub(past) < halfYear // longer ago, somebody may have meant the one to come
	}
	return day.AddDate(0, 0, -7), true
}

// halfYear is how far back a day without a year is taken to be.
const halfYear = 183 * 24 * time.Hour

var dottedDay = regexp.MustCompile(`^(\d{1,2})\.(\d{1,2})\.(\d{2}|\d{4})$`)

// dottedDay is a day such as 17.11.2026. Where either number may be the month, it is
// not known.
func (r *Request) dottedDay(said []string) (time.Time, bool) {
	day, month, year := smallNumber(said[1]), smallNumber(said[2]), smallNumber(said[3])
	if month > 12 {
		day, month = month, day
	}
	if year < 100 {
		year += 2000
	}
	at := time.Date(year, time.Month(month), day, 0, 0, 0, 0, r.Department.Zone)
	return at, day > 12 && month <= 12 && at.Day() == day
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
