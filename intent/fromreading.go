package intent

func meaningOf(r Reading) string { return r.Key() }
