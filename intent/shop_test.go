package intent

// demoVocabulary are the names of the invented boat-engine job.
var demoVocabulary = Vocabulary{
	Groups: []string{"front cover short", "front cover long", "sump front bolts", "pump bolts", "pump lid screws", "pump pulley bolts",
		"exchanger nuts", "end cap bolts", "exchanger bracket bolts", "alternator bolts", "tensioner bolt", "crank pulley bolt", "hose clips", "anode plug",
		"front cover", "sump", "raw-water pump", "heat exchanger", "pump pulley", "exchanger bracket", "alternator", "belt tensioner", "crank pulley", "coolant hoses"},
	Parts: []string{"shaft seal", "impeller", "lid gasket", "pump o-ring", "exchanger o-rings", "drain washer", "anode", "drive belt",
		"raw-water pump", "heat exchanger", "front cover", "alternator", "tensioner", "crank pulley", "pump pulley"},
	Steps:    []string{"drain", "belt off", "pump off", "cover off", "pump on", "seal in", "cover on", "belt on", "fill"},
	Places:   []string{"cup four", "cup three", "top shelf", "blue tray"},
	Fluids:   []string{"engine oil", "coolant"},
	Sealants: []string{"grey silicone", "blue locker"},
	Limits:   []string{"impeller clearance", "belt deflection", "shaft end float"},
	Wrenches: []string{"torque screwdriver", "small click", "long click", "big click"},
	Suspects: []string{"worn impeller", "blocked strainer"},
	Words:    []string{"sea strainer", "stern gland"},
}
