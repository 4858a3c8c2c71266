package diagnose

import (
	"encoding/json"
	"fmt"
	"legwork/probe/reading"
	"math"
	"testing"
)

func mk(v float64, th []float64, va []float64, amps ...float64) reading.Reading {
	var r reading.Reading
	for k := range th {
		c := reading.Channel{Voltage: reading.Known(v), Current: reading.Known(amps[k%len(amps)])}
		c.Angle = reading.Known(reading.Degrees(th[k]))
		if va != nil {
			c.VoltageAngle = reading.Known(reading.Degrees(va[k]))
		}
		c.Power = reading.Known(v * amps[k%len(amps)] * math.Cos(th[k]*math.Pi/180))
		r.Channels = append(r.Channels, c)
	}
	return r
}
func TestAd(t *testing.T) {
	show := func(n string, r reading.Reading, o Options) {
		x := Diagnose([]reading.Reading{r}, o)
		fmt.Println(n, x.Verdict, x.Summary)
		for _, e := range x.Explanations {
			fmt.Printf("   %.4f %s reg %v [%v %v] seq %v tw %d\n", e.Probability, e.Words, e.Registration.Or(-99), e.RegistrationLow.Or(-99), e.RegistrationHigh.Or(-99), e.Sequence, len(e.Twins))
		}
		for _, n := range x.NextTests {
			fmt.Println("     ", n.Test, n.GainBits, n.Ask)
		}
	}
	abc := []float64{0, -120, 120}
	acb := []float64{0, 120, -120}
	show("right", mk(120, []float64{20, 25, 30}, abc, 10, 12, 14), Options{Service: "120/208Y"})
	show("ct2rev", mk(120, []float64{20, -155, 30}, abc, 10, 12, 14), Options{Service: "120/208Y"})
	show("23x,2r", mk(347, []float64{45, -15, -75}, abc, 10, 12, 14), Options{})
	show("noseq roll", mk(120, []float64{140, 145, 150}, nil, 10, 12, 14), Options{Service: "120/208Y"})
	show("v12x", mk(120, []float64{20 - 120, 25 + 120, 30}, acb, 10, 12, 14), Options{Service: "120/208Y"})
	show("split rev", mk(120, []float64{190, 185}, nil, 10, 12), Options{Service: "120/240"})
	show("infer2", mk(120, []float64{10, 15}, nil, 10, 12), Options{})
	show("ct2 on 1", mk(120, []float64{10, 10 - 120, 15}, abc, 10, 10, 14), Options{})
	show("unl", mk(120, []float64{10, 15, 15}, abc, 10, 0, 14), Options{})
	r := mk(120, []float64{20, 25, 30}, abc, 10, 12, 14)
	r.Channels[2].Voltage = reading.Known(0.2)
	r.Channels[2].Power = reading.Known(0.0)
	r.Channels[2].Angle = reading.Maybe[reading.Angle]{}
	show("v3 dead", r, Options{})
	x := Diagnose([]reading.Reading{mk(120, []float64{20, -155, 30}, abc, 10, 12, 14)}, Options{})
	b, _ := json.MarshalIndent(x, "", " ")
	fmt.Println(string(b))
}
func BenchmarkDiagnose(b *testing.B) {
	r := []reading.Reading{mk(120, []float64{20, -155, 30}, []float64{0, -120, 120}, 10, 12, 14)}
	b.ReportAllocs()
	for b.Loop() {
		Diagnose(r, Options{Service: "120/208Y"})
	}
}
func BenchmarkInfer(b *testing.B) {
	r := mk(120, []float64{20, -155, 30}, []float64{0, -120, 120}, 10, 12, 14)
	b.ReportAllocs()
	for b.Loop() {
		judge(&r, Options{Service: "120/208Y"})
	}
}
