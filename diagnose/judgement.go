package diagnose

import "legwork/diagnose/internal/verdict"

// judgement is what was made of the readings, to be put into words.
type judgement struct {
	*verdict.Judgement
	options Options
	tables  *Tables
	mixed   mixture // why the readings aren't of one meter; zero where they may be
}

// dataFaults lists what was read and can't be.
func (j *judgement) dataFaults() []DataFault {
	all := []DataFault{}
	for _, f := range j.Faults {
		all = append(all, dataFault(f))
	}
	for _, f := range j.Currents {
		all = append(all, currentFault(f))
	}
	if j.mixed.shows != "" {
		all = append(all, DataFault{Point: "at", Fault: j.mixed.shows, Mend: partIt})
	}
	return all
}
