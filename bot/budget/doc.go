// Package budget makes the yearly request out of what happened, follows it after
// it was handed in, and answers for it in the hearing.
//
// The smallest use: records from the queue's lines, a request, and why a line of it
// is what it is.
//
//	reader := budget.LineReader{Calendar: calendar, Consumable: consumable, Now: now}
//	basis.Records = append(basis.Records, reader.Records(history)...) // for each line
//	request, err := budget.Build(basis)
//	total := request.OfYear(2028).Total // cents
//	why, err := request.Why("wish/2028/w17")
//	less, err := request.Without("engine-7")
//
// A request that was handed in is frozen, and entries say what became of it:
//
//	frozen, err := budget.Submit(past, request, member, now)
//	step := budget.HandIn(frozen)             // later: approved, cut, bought, in the kits
//	err = budget.CheckStep(past, step)        // a *bot.UserError says why not
//	past, refused := budget.Submissions(steps) // oldest first
//	opening := past[0].Opening(2028)          // how the next year begins
//
// # Money
//
// All amounts are whole cents. A price rises with Terms.Escalation once for each
// year after the request's first, rounded each time. Shipping and tax are of a
// line's goods, each rounded by itself, and shipping is not taxed. Rounding is
// half a cent up, everywhere ([Rate.Of]); whoever works a sum out again does so in
// cents, as parts of a dollar do not add up exactly. Totals are sums of lines, so
// that they are the same in every view. A line that cannot be reckoned (no price, a
// count below zero) is excluded from totals, says so, and stands in Request.Problems.
//
// # Forecasts
//
// The pieces of an item that go are taken for a Poisson process whose rate, by kit
// and year, has a Gamma distribution: a prior, which is assumed and labelled so,
// and the counts. What is expected is then a negative binomial, so that little
// knowledge makes wide intervals ([Gamma.Predict]). Spares cover what goes while
// an order is on its way with the chance that the department asks for ([Spares]
// for a rate that is known). No line is asked for on an assumption alone: an item
// of which nothing went has a forecast that says so, and no line. A fiscal year
// without any record counts for no rate. The exposure of an item is that of the
// kits in service whose list has it today; what went from a kit that is gone since
// still counts.
//
// # The model's column
//
// What the door model says of an item stands beside its line as the model's, with
// its range and with the sample that it leans on ([Sample]); it changes no total.
// [BestSet] finds what is worth most under an amount, among at most twenty.
//
// # Tables and paper
//
// A Request, and one that was Submitted, is laid out as a workbook and as PDF:
//
//	book := request.Workbook(presentation) // for sheet.WriteXLSX, its tables for sheet.WriteCSV
//	err := request.PDF(file, presentation)
//
// The workbook's formulas round as the package does, in whole cents and whole parts
// per million, so that a spreadsheet finds the same amounts and other rates can be
// tried in it. Where a formula would not find what the request has, be it that an
// older program reckoned otherwise or that there are more than 15 digits, the cell
// holds the amount alone. What is in no total is shown struck through. Pictures are
// bot/chart's, and whoever shows them takes the amounts from a Request or an Opening.
//
// Nothing here is stored or sent, and no person is named but who signs and who
// enters a step; tables and paper name who signed, and nobody else.
package budget
