module kitbell/knowledge/compare

go 1.26.0

require (
	github.com/blevesearch/bleve/v2 v2.6.3
	kitbell v0.0.0
)

replace kitbell => ../..
