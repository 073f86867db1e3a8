package understand

// readSmallThings fills numbers, days, platoons and the words after "because".
func (s *sheet) readSmallThings(out *Reading) {
	g := s.grammar
	for _, m := range s.marks {
		if m.kind == dateMark {
			addOnce(&out.Days, m.day)
		}
	}
	for i, t := range s.tokens {
		if day := s.words.days[t.word]; day != "" && s.marks[s.markAt(i)].kind != dateMark {
			addOnce(&out.Days, day)
		}
		if p := s.platoonAt(i); p != "" {
			addOnce(&out.Platoons, p)
		}
		if t.kind == numberToken && s.marks[s.markAt(i)].kind != dateMark {
			s.nameNumber(out, i)
		}
		if t.word == g.because && out.Reason == "" {
			out.Reason = s.restOfClause(i + 1)
		}
	}
}

// nameNumber tells what a number is the number of, by the word before it.
func (s *sheet) nameNumber(out *Reading, i int) {
	t := s.tokens[i]
	digits := s.text[t.from:t.to]
	if t.from > 0 && s.text[t.from-1] == '#' {
		out.Numbers = append(out.Numbers, t.value)
		return
	}
	for k := i - 1; k >= 0 && k >= i-3 && !s.tokens[k].border(); k-- {
		switch w := s.tokens[k].word; {
		case s.grammar.line[w]:
			out.Numbers = append(out.Numbers, t.value)
		case s.grammar.seal[w]:
			out.Seal = digits
		case s.grammar.lot[w]:
			out.Lot = digits
		case s.grammar.order[w] && k == i-1:
			out.Order = digits
		default:
			continue
		}
		return
	}
	if len(digits) == sealDigits && digits[0] == '0' {
		out.Seal = digits
	}
}

// sealDigits is how many digits a seal tag carries: with a leading zero it is
// known without a word before it.
const sealDigits = 6

// restOfClause is the text from token i to the end of its clause.
func (s *sheet) restOfClause(i int) string {
	end := i
	for end < len(s.tokens) && !s.tokens[end].border() {
		end++
	}
	if end == i {
		return ""
	}
	return s.text[s.tokens[i].from:s.tokens[end-1].to]
}
