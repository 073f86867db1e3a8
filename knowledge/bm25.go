package knowledge

// Saturation is BM25's term weight without the idf: it grows with the count tf of
// the term in a field and ends at k1+1. length and average are the field's
// words and the mean of all fields; b says how much a long field is held
// against it. Robertson's form, as in Croft, Metzler and Strohman, Search
// Engines (2009), 7.2.2.
func Saturation(tf, length, average, k1, b float64) float64 {
	if tf == 0 {
		return 0
	}
	relative := 1.0
	if average > 0 {
		relative = length / average
	}
	return (k1 + 1) * tf / (k1*((1-b)+b*relative) + tf)
}

// Odds is how much likelier it is that a text does not have a term than that it
// has, when df of n texts have it. BM25's idf is its logarithm; the index takes
// log(1+Odds), which is never negative.
func Odds(n, df int) float64 {
	return (float64(n-df) + 0.5) / (float64(df) + 0.5)
}
