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
}
