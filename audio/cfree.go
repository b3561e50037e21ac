package audio

// #include <stdlib.h>
import "C"

import "unsafe"

// freeC frees memory that the malgo binding got from C for a device's id.
func freeC(p unsafe.Pointer) { C.free(p) }
