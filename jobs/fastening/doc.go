// Package fastening holds the engineering of threads, wrenches and torque that
// catches a wrong figure before it snaps a bolt.
//
// Here live thread and wrench-size tables, strength classes, the torque and
// preload formulas, the judgement of a stated torque, wrench settings with
// adapters, tightening order and stages, and records for engagement, sealant
// and thread locker. No ledger, no clock, no speech: those are the business of
// package jobs and above.
//
// The main call judges a figure:
//
//	v, err := fastening.Judge(fastening.Known{Thread: "M6", Class: "8.8"}, q)
//	// v.Level == fastening.Impossible, v.Reason is one sentence for the ear
//
// Every figure computed here is a guide figure: the maker's manual decides.
// Brakes, steering, airbags, lifting gear and aircraft are tightened from the
// maker's manual only. Every table row names its source.
package fastening

// GuideNote goes with every computed answer.
const GuideNote = "guide figure, your manual decides"

// The sources of tables and formulas. The standards' own texts were not at
// hand: what is named here was read where somebody reprints it.
const (
	srcThreadForm  = "ISO 724 and ISO 898-1, as coded in PyPI pyflange 0.14.0"
	srcInchArea    = "FED-STD-H28, as coded in PyPI screw_thread_lib 0.0.6"
	srcMetricPitch = "ISO 261 pitches, published thread tables"
	srcUnified     = "ASME B1.1 series, as coded in PyPI screw_thread_lib 0.0.6"
	srcISO898      = "ISO 898-1:2013, published reprints"
	srcSAE         = "SAE J429, published reprints"
	srcISO3506     = "ISO 3506-1, published reprints"
	srcHeads       = "PyPI bd_warehouse 0.4.0 (Apache-2.0), hexagon and socket head tables"
	srcJIS         = "a maker's printed JIS-to-ISO table"
	srcShopTable   = "published wrench-size tables"
	srcMemory      = "from memory"
	srcPractice    = "common practice, no source"
	srcShigley     = "Shigley, Mechanical Engineering Design, 9th ed., table 8-15 and eq. 8-31"
	srcVDI         = "VDI 2230 and ISO 16047, published reprints"
	srcArmyTable   = "US Army TM 5-3895-367-14&P, table H-1"
	srcArmyLocknut = "US Army TM 5-2330-325-13&P"
	srcAdapter     = "US Army TM 1-1500-204-23-9"
	srcISO6789     = "ISO 6789, published reprints"
	srcPCC1        = "ASME PCC-1, as quoted in public texts"
	srcEngagement  = "Design News after the Industrial Fasteners Institute; US Army TM 5-3895-367-14&P, appendix H"
	srcAngle       = "a power-tool maker's published torque-angle example"
)
