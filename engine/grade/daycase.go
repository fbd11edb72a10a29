package grade

import "obvert/line"

// dayCase is a case as a moment of a day has it.
type dayCase struct {
	kase *line.Case
}
