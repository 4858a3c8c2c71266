package sim

import "legwork/probe/sheet"

// placeFile is a scenario as its file has it. Its tags are the table of the
// format (sheet.Rule); what they can't say is in scenario.go.
type placeFile struct {
	Version  int                  `sheet:"legwork-place" need:"1" from:"1" to:"1" doc:"Version of the format."`
	Title    string               `sheet:"title" doc:"What people call the place."`
	Service  sheet.Node           `sheet:"service" need:"..." doc:"Service of the panel, such as 120/208Y."`
	Sequence string               `sheet:"sequence" of:"ABC ACB" doc:"Order in which the legs peak; ABC."`
	HighLeg  sheet.Text           `sheet:"high-leg" of:"A B C" doc:"Leg that stands high on a four-wire delta."`
	Volts    sheet.List[float64]  `sheet:"volts" from:"1" to:"1000" doc:"V of each leg, to 1000 (IEC 60038)."`
	Meter    meterFile            `sheet:"meter" doc:"The meter."`
	Loads    sheet.List[loadFile] `sheet:"loads" need:"..." doc:"What hangs on the panel."`
}

type meterFile struct {
	CTPrimary float64    `sheet:"ct-primary" from:"1" to:"1e5" doc:"A, rated primary current of the CTs."`
	Class     sheet.Text `sheet:"class" doc:"Class of the CTs, as in IEC 61869-2."`
	Noise     float64    `sheet:"noise" from:"0" to:"0.1" doc:"Standard deviation of one reading, as a ratio."`
	Average   float64    `sheet:"average" from:"0" to:"60" doc:"s over which the meter averages."`
	PF        string     `sheet:"pf" of:"power lag" doc:"What the sign of the power factor says."`
	Reactive  string     `sheet:"reactive" of:"measured root" doc:"How reactive power is found."`
	NeutralCT bool       `sheet:"neutral-ct" doc:"Whether the neutral has a CT."`
	Serial    string     `sheet:"serial" doc:"Serial number."`
	Model     string     `sheet:"model" doc:"Model."`
}

type loadFile struct {
	Name       string     `sheet:"name" doc:"What people call the load."`
	Kind       sheet.Node `sheet:"kind" need:"..." doc:"heat, lighting, motor and others."`
	Across     sheet.Text `sheet:"across" need:"..." doc:"Conductors that it hangs between: A-N, B-C, ABC."`
	VA         float64    `sheet:"va" need:"..." from:"1" to:"1e7" doc:"VA at nominal voltage."`
	Lag        float64    `sheet:"lag" need:"..." from:"-180" to:"180" doc:"Degrees by which the current lags."`
	Distortion float64    `sheet:"distortion" from:"0" to:"2" doc:"Harmonic current over the fundamental."`
	Cycle      Cycle      `sheet:"cycle" doc:"When it is on; always where it isn't given."`
}
