// Package measure scores what kitbell understands against files of examples
// whose right answers are known.
//
//	questions, err := measure.ReadQuestions(file)
//	scores := measure.Questions(questions, ask)
//	fmt.Print(scores)
//
// It asks only through a function, so it measures a bare index and the whole
// bot alike. It decides nothing about what is good enough; callers and tests do.
package measure
