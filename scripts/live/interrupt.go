package main

// interrupt measures what comes of speech while the program speaks.
func (b *bench) interrupt() error { return nil }
