// Package budget makes the yearly request out of what happened, and answers for
// it in the hearing.
package budget
