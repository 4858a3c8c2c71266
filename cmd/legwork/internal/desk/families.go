package desk

// family is one metric of meters.
type family struct {
	name, help string
	counter    bool
}

// The families, in the order in which they are written.
const (
	voltageFamily = iota
	currentFamily
	powerFamily
	reactiveFamily
	apparentFamily
	factorFamily
	angleFamily
	voltageAngleFamily
	currentAngleFamily
	lineFamily
	upFamily
	timeFamily
	frequencyFamily
	neutralFamily
	importFamily
	exportFamily
	verdictFamily
	probabilityFamily
	lostPowerFamily
	lostEnergyFamily
	readsFamily
	infoFamily
	differenceFamily
	completeFamily
	silentFamily
	familyCount
)

// families: units are those of the Prometheus conventions, base units in the
// name; a counter's name ends in _total.
var families = [familyCount]family{
	voltageFamily: {"legwork_voltage_volts", "Voltage of a channel, rms.", false},
	currentFamily: {"legwork_current_amperes", "Current of a channel, rms.", false},
	powerFamily:   {"legwork_power_watts", "Active power of a channel as registered, positive to the load.", false},
	reactiveFamily: {"legwork_reactive_power_vars", "Reactive power of a channel, positive for a lagging load.",
		false},
	apparentFamily: {"legwork_apparent_power_voltamperes", "Apparent power of a channel.", false},
	factorFamily: {"legwork_power_factor_ratio",
		"Power factor of a channel; legwork_meter_info says what its sign means.", false},
	angleFamily: {"legwork_angle_degrees", "Angle of the current behind the voltage.", false},
	voltageAngleFamily: {"legwork_voltage_angle_degrees", "Angle of the voltage from that of channel 1, anticlockwise.",
		false},
	currentAngleFamily: {"legwork_current_angle_degrees",
		"Angle of the current from the voltage of channel 1, anticlockwise.", false},
	lineFamily:        {"legwork_line_voltage_volts", "Voltage between two channels, rms.", false},
	upFamily:          {"legwork_meter_up", "Whether the meter answered when it was last asked.", false},
	timeFamily:        {"legwork_reading_timestamp_seconds", "When the last good reading was taken.", false},
	frequencyFamily:   {"legwork_frequency_hertz", "Frequency.", false},
	neutralFamily:     {"legwork_neutral_current_amperes", "Current of the neutral, rms.", false},
	importFamily:      {"legwork_energy_import_joules_total", "Energy registered as taken.", true},
	exportFamily:      {"legwork_energy_export_joules_total", "Energy registered as given back.", true},
	verdictFamily:     {"legwork_verdict", "The verdict on the wiring; exactly one is 1.", false},
	probabilityFamily: {"legwork_verdict_probability_ratio", "Probability of the first explanation.", false},
	lostPowerFamily:   {"legwork_lost_power_watts", "True power less registered power.", false},
	lostEnergyFamily: {"legwork_lost_energy_joules_total",
		"Energy that was not registered since the desk began, by the bounds of its interval.", true},
	readsFamily: {"legwork_reads_total", "Reads of the meter, by how they ended.", true},
	infoFamily: {"legwork_meter_info", "What is declared of the meter, and what the signs of its registers mean.",
		false},
	differenceFamily: {"legwork_balance_difference_watts",
		"A main less the sum of the meters below it, by the bounds of its interval.", false},
	completeFamily: {"legwork_balance_complete", "Whether the power of a main and of all below it is known.", false},
	silentFamily:   {"legwork_channel_silent", "Whether a channel that carried load for hours reads none.", false},
}
