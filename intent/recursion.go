package intent

// checkRecursion refuses rules that call themselves before a word: no sentence
// could ever be finished by such a call. A rule may refer to itself at its end
// without limit, in its middle up to maxCallDepth deep.
func checkRecursion(public []*Rule) error {
	c := recursionCheck{empty: map[*Rule]bool{}, colour: map[*Rule]int{}}
	for _, r := range public {
		c.collect(r)
	}
	for changed := true; changed; {
		changed = false
		for _, r := range c.all {
			if !c.empty[r] && c.nullable(r.body) {
				c.empty[r], changed = true, true
			}
		}
	}
	for _, r := range c.all {
		if err := c.visit(r); err != nil {
			return err
		}
	}
	return nil
}

type recursionCheck struct {
	all    []*Rule
	empty  map[*Rule]bool // rules that match nothing at all as well
	colour map[*Rule]int  // 1 collected, 2 being visited, 3 done
}

func (c *recursionCheck) collect(r *Rule) {
	if c.colour[r] != 0 || r.body == nil {
		return
	}
	c.colour[r] = 1
	c.all = append(c.all, r)
	eachRef(r.body, func(e *expansion) { c.collect(e.rule) })
}

func eachRef(e *expansion, f func(*expansion)) {
	if e.op == opRef {
		f(e)
	}
	for _, k := range e.kids {
		eachRef(k, f)
	}
}

func (c *recursionCheck) nullable(e *expansion) bool {
	switch e.op {
	case opRef:
		return c.empty[e.rule]
	case opNull, opOptional, opStar:
		return true
	case opTag, opPlus:
		return c.nullable(e.kids[0])
	case opSequence:
		for _, k := range e.kids {
			if !c.nullable(k) {
				return false
			}
		}
		return true
	case opChoice:
		for _, k := range e.kids {
			if c.nullable(k) {
				return true
			}
		}
	}
	return false
}

// visit walks depth first along the references that can come before any word;
// meeting a rule that is still being visited closes a loop.
func (c *recursionCheck) visit(r *Rule) error {
	if c.colour[r] != 1 {
		return nil
	}
	c.colour[r] = 2
	if err := c.left(r.body); err != nil {
		return err
	}
	c.colour[r] = 3
	return nil
}

func (c *recursionCheck) left(e *expansion) error {
	switch e.op {
	case opRef:
		if c.colour[e.rule] == 2 {
			return &SyntaxError{e.pos, "<" + e.rule.Name + "> comes back to itself here before any word is spoken; put a word first, or the reference last"}
		}
		return c.visit(e.rule)
	case opSequence:
		for _, k := range e.kids {
			if err := c.left(k); err != nil {
				return err
			}
			if !c.nullable(k) {
				return nil
			}
		}
	default:
		for _, k := range e.kids {
			if err := c.left(k); err != nil {
				return err
			}
		}
	}
	return nil
}
