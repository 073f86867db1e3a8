// Command compare asks the same questions of kitbell's own index and of a
// general search library, github.com/blevesearch/bleve/v2, over the same cards,
// and prints how right and how fast each is.
//
//	go run . [FILE.tsv ...]
//
// Without files it asks the two sets of testdata/questions: own.tsv, on which
// kitbell's ranking was tuned, and held.tsv, on which nothing was.
//
// It is a module of its own so that the search library does not reach the
// program. It tunes nothing: the library's set-ups are listed in setups, and
// each is shown.
package main
