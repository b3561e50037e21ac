package jobs

import "putback/intent"

func (d *draft) lookUp(in intent.Intent) bool { return false }

func (d *draft) calculate(in intent.Intent) bool { return false }

func (d *draft) work(b *Bench, in intent.Intent) bool { return false }
