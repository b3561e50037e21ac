package main

// chatter is what friends at the bench say to each other, full of the words
// the program listens for, and meant for nobody but them.
var chatter = []string{
	"I had a boat like that once, the bolts were all seized.",
	"You should have seen the state of his impeller, there was nothing left of it.",
	"They want forty pounds for a gasket, can you believe that?",
	"My brother took his engine to bits and lost half the screws.",
	"Did you watch the match on Saturday? Three two in the last ten minutes.",
	"Pass me the other spanner, will you, not that one, the long one.",
	"I think the radio is too loud, I can not hear myself think.",
	"Is there any tea left in that flask or did you finish it?",
	"He always does the front cover first and then he forgets the seal.",
	"Twelve of them, and every single one was a different length.",
	"We could go and get some oil before the shop closes at six.",
	"That pump is older than I am.",
	"You never put that back where you found it.",
	"She said she would be here at half past four with the trailer.",
	"What's left to do after this, do you want to stop for lunch?",
	"I reckon it wants about thirty, but I always just do it by feel.",
	"There were two ten millimetre sockets in here yesterday.",
	"No, the other side, next to the toolbox.",
	"Put the toolbox on the bench before somebody trips over it.",
	"Where was I? Oh yes, so then the mast came down.",
	"How many are coming on Sunday, seven or eight?",
	"Mind the step when you come down, it is wet.",
	"Stop laughing and hold the torch.",
	"I would not do that, you will strip the thread.",
}

// chat has the chatter said by three voices.
func chat() ([]clip, error) {
	var out []clip
	for i, line := range chatter {
		voice := []string{"rms", "slt", "awb"}[i%3]
		s, err := flite(voice, line)
		if err != nil {
			return nil, err
		}
		out = append(out, clip{voice + ": " + line, s})
	}
	return out, nil
}
