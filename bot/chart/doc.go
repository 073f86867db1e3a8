// Package chart draws the programme's figures for a phone: which kits were ready
// week by week, what is short, what the crews have drilled, what was asked for and
// bought. Each drawing comes as PNG, as SVG, and in words that say the same.
//
//	picture, err := chart.Shortages{Title: "Short today", Items: []chart.Count{{Item: "air wedge", Count: 3}}}.Draw(chart.Options{})
//	// picture.PNG, picture.SVG, picture.Alt
//
// Kits, items, crews and years are all that a drawing can name: there is no field
// for a person. It counts nothing and decides nothing: what is complete or due is
// the caller's to say. Nothing to draw gives a drawing that says so; what cannot
// be true is refused with ErrData.
//
// Colours follow one rule: blue against orange, which the common kinds of colour
// blindness tell apart, in steps of luminance of 2 to 1 or more by the formula of
// WCAG 2.x, so that a grey print tells them apart too. Shape and letter, or a word
// beside each bar, say it again without any colour.
package chart
