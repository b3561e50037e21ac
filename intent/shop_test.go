package intent

// demoVocabulary are the names of the invented boat-engine job, as the bench
// gives them: groups and their places, parts, steps, places and so on.
var demoVocabulary = Vocabulary{
	Groups: []string{"front cover short", "front cover", "front cover long", "sump front bolts", "sump", "pump bolts", "raw-water pump", "pump lid screws",
		"pump pulley bolts", "pump pulley", "exchanger nuts", "heat exchanger", "end cap bolts", "exchanger bracket bolts", "exchanger bracket",
		"alternator bolts", "alternator", "tensioner bolt", "belt tensioner", "crank pulley bolt", "crank pulley", "hose clips", "coolant hoses",
		"anode plug", "exchanger anode"},
	Parts: []string{"shaft seal", "impeller", "lid gasket", "pump o-ring", "exchanger o-rings", "drain washer", "anode", "drive belt",
		"raw-water pump", "heat exchanger", "front cover", "alternator", "tensioner", "crank pulley", "pump pulley"},
	Steps: []string{"power off", "sea cock shut", "engine cold", "drain coolant", "drain oil", "belt marks", "alternator loose", "belt off", "tensioner off",
		"hoses off", "anode out", "end caps off", "exchanger off", "bracket off", "pump pulley off", "lid off", "impeller out", "pump off", "seal out",
		"crank pulley off", "sump loose", "cover off", "faces clean", "cover checked", "laid out",
		"cover sealed", "cover on", "sump back", "crank pulley on", "seal in", "pump on", "impeller in", "lid on", "pump pulley on", "bracket on",
		"exchanger on", "end caps on", "anode in", "hoses on", "tensioner on", "belt on", "alternator tight", "drain plug in", "oil in", "coolant in",
		"turned by hand", "sea cock open", "power on", "first run", "levels again"},
	Places:   []string{"cup one", "cup two", "cup three", "cup four", "cup five", "top shelf", "blue tray", "bilge bucket"},
	Fluids:   []string{"engine oil", "coolant"},
	Sealants: []string{"grey silicone", "blue locker"},
	Limits:   []string{"impeller clearance", "belt deflection", "shaft diameter", "cover flatness"},
	Wrenches: []string{"torque screwdriver", "small click", "long click", "big click"},
	Suspects: []string{"worn impeller", "blocked strainer"},
	Words:    []string{"sea strainer", "stern gland", "feeler gauge"},
	Deeds:    demoDeeds,
}

// demoDeeds are what the steps of that job ask for.
var demoDeeds = func() []Deed {
	var list []Deed
	for _, step := range [][2]string{
		{"power off", "battery negative off"}, {"sea cock shut", "shut the sea cock and hang the tag on the key"},
		{"engine cold", "feel that the engine is cold"}, {"drain coolant", "drain the coolant into the can"}, {"drain oil", "drain the engine oil"},
		{"belt marks", "mark the belt's running direction and photograph it"}, {"alternator loose", "slacken the alternator and swing it in"},
		{"belt off", "lift the belt off"}, {"tensioner off", "take the tensioner off"}, {"hoses off", "slacken the clips and pull the hoses"},
		{"anode out", "unscrew the anode plug"}, {"end caps off", "take the end caps off the exchanger"},
		{"exchanger off", "lift the heat exchanger off its studs"}, {"bracket off", "take the exchanger bracket off"},
		{"pump pulley off", "take the pump pulley off"}, {"lid off", "take the lid off the pump"}, {"impeller out", "pull the impeller"},
		{"pump off", "take the pump off the front cover"}, {"seal out", "press the old shaft seal out"},
		{"crank pulley off", "lock the crank and undo the pulley"}, {"sump loose", "take out the front sump bolts"},
		{"cover off", "take off the front cover"}, {"faces clean", "clean both faces"},
		{"cover checked", "check the cover's face with straight edge and feeler"}, {"laid out", "count what lies on the bench"},
		{"cover sealed", "lay the silicone bead on the cover"}, {"cover on", "fit the front cover"}, {"sump back", "fit the front sump bolts"},
		{"crank pulley on", "oil and fit the crank pulley bolt"}, {"seal in", "press in the shaft seal"}, {"pump on", "fit the pump body"},
		{"impeller in", "fit the impeller, vanes trailing"}, {"lid on", "fit the pump lid"}, {"pump pulley on", "fit the pump pulley with locker"},
		{"bracket on", "fit the exchanger bracket"}, {"exchanger on", "set the heat exchanger on its studs"}, {"end caps on", "fit the end caps"},
		{"anode in", "fit the anode plug"}, {"hoses on", "push the hoses on and set the clips"}, {"tensioner on", "fit the tensioner with its new bolt"},
		{"belt on", "lay the belt on in its running direction"}, {"alternator tight", "swing the alternator out and tighten it"},
		{"drain plug in", "fit the drain plug with a new washer"}, {"oil in", "fill the engine oil"}, {"coolant in", "fill and bleed the coolant"},
		{"turned by hand", "turn the engine two turns by hand"}, {"sea cock open", "open the sea cock and take the tag off"},
		{"power on", "battery negative on"}, {"first run", "run it and look for leaks"}, {"levels again", "check oil and coolant again"},
	} {
		list = append(list, Deeds(step[0], step[1])...)
	}
	return list
}()
