package main

import "github.com/spf13/cobra"

// topics are the pages of `legwork help`: the trade's side in our own words.
// What is said there is common practice, no source, unless one stands with it.
func topics() []*cobra.Command {
	return []*cobra.Command{
		{Use: "ct-direction", Short: "Which way round a CT goes", Long: topicDirection},
		{Use: "lead-marks", Short: "What the marks on CTs and their leads mean", Long: topicMarks},
		{Use: "phase-test", Short: "Proving which conductor is which leg", Long: topicPhaseTest},
		{Use: "safety", Short: "Before a panel is opened", Long: topicSafety},
		{Use: "limits", Short: "What the meter can't know", Long: topicLimits},
		{Use: "seen", Short: "Telling legwork what a test showed", Long: topicSeen()},
		{Use: "whole-job", Short: "From the phase test to the report, in one record", Long: topicWholeJob},
	}
}

const topicDirection = `A CT has a side that faces the source: the utility, the transformer, the main
breaker. Power that flows in there and out towards the loads counts as positive.
Turned round, every watt counts backwards.

  source ===> [ CT: arrow ===> ] ===> loads

- The arrow on the case points along the power, from source to load. Where there
  is a mark instead of an arrow, the marked side faces the source.
- Check it against the panel, not against the CT beside it: in a panel fed from
  below, or on a conductor that turns back on itself, the right way round looks
  wrong.
- Mains and branch circuits may leave a busbar in opposite directions. Whoever
  hangs all CTs with the arrows one way has turned half of them.
- Each CT goes with its own voltage: CT 1 round the conductor that feeds voltage
  input 1. The right way round on the wrong leg is still wrong, and may read
  plausible watts.
- A CT that opens must close wholly, its faces clean, with one conductor inside
  it and all of that conductor's strands.

A reversed CT is put right by turning it on the dead conductor. Exchanging its
two leads at the meter does the same, but only where neither lead is grounded or
shared with another CT. First: legwork help safety
`

// The names of the marks are those of IEC 61869-2 and IEEE C57.13, from memory.
const topicMarks = `The marks tell which terminals go together: when current flows into the marked
primary side, it flows out of the marked secondary terminal at the same instant.

  standard      primary        secondary      faces the source
  IEC           P1, P2         S1, S2         P1
  IEEE/ANSI     H1, H2         X1, X2         H1
  both          a dot, a paint mark or an arrow stands for the first of each pair

- P1 or H1 towards the source, S1 or X1 to the meter's first terminal of that
  current input (often marked with a dot, I+, or k).
- P1 towards the load and S1 on the second terminal cancel out. It reads right,
  and the next person will turn one of them.
- White and black leads: the white one is often S1 or X1, but makers differ. Go
  by the sheet that came with the CT.
- A secondary with a rated current (5 A, 1 A) must never be open while its primary
  carries current. One that puts out a voltage (0.333 V, or a coil without iron)
  may be. Where it isn't known which it is, treat it as the first.
- One point of a grounded secondary is grounded, no more. Moving leads keeps it.
`

const topicPhaseTest = `Every meter believes the numbers on its inputs. Whether input 1 is on the
conductor that the drawings call leg A, no reading can tell: with voltages and
CTs exchanged alike, every watt is right and only the names are wrong. Where the
name matters (tenants, a second meter, a motor's direction) prove it:

- Between two conductors of the same leg there is no voltage; between those of
  two legs there is the line voltage. Measure from a point whose leg is known,
  such as the main switch, to each voltage input, with a meter of the right
  category, proved on a known source before and after.
- A sequence indicator on inputs 1, 2, 3 says ABC or ACB. Turned round at the
  meter alone, the meter's angles and some of its registers are wrong; turned
  round at the service, motors run backwards.
- A load that is switched on one leg shows which CT hangs there, and its
  direction: legwork loadstep METER --leg 1

The worksheet of readings to take, and what they prove: legwork phasetest. The
first two bring probes to live conductors: that is licensed work under
local codes. Tell legwork what came of it with --seen: legwork help seen
`

const topicSafety = `What follows is a reminder for people who are qualified, not a way to become so.
Local codes, the site's rules and licensed practice come before it.

1. Only qualified people open a panel, in the protection that its arc-flash label
   asks for.
2. Work dead. Open, lock out, tag; then prove dead with a tester that was itself
   proved on a known source before and after.
3. The reference breaker makes the meter's voltage inputs dead and nothing else:
   the legs stay live, and a tap may be fed from somewhere else.
4. Never open the secondary of a current-output CT while its primary carries
   current. The voltage at its leads can kill and sets fire to insulation. Close
   its shorting block first, or take the primary load off. (UFC 3-560-01, 2006,
   9-5.2: a secondary is never opened while the primary is energised.)
5. A channel that reads 0 A may be an idle leg, or an open secondary. Until that is
   known: no load on, no clamp near its leads, no hands on them.
6. Voltages far too high on one leg and far too low on another: the service's
   neutral may be lost. Keep away, switch nothing, tell those answerable for the
   supply.
7. Load steps are made with the load's own switch or breaker, panel closed.
8. Solar, batteries and generators can feed a panel that the utility doesn't.

legwork only ever reads. Everything that moves is moved by you.
`

const topicLimits = `legwork sees what the meter reports, which is less than what is there.

- Voltage inputs and CTs exchanged alike: nothing changes but names. A phase test
  tells (legwork help phase-test).
- A voltage input with its line and neutral exchanged, or a polarity setting
  turned over in the meter, reads like a reversed CT.
- Power that flows back from generation reads like reversed CTs. Say so with
  --generation possible.
- A CT round part of a conductor, round two, or not wholly closed, gives a wrong
  size at a right angle. Only a clamp ammeter shows it.
- On 120/240 some arrangements read alike from any readings, such as both CTs
  reversed and the two exchanged. A load step on a known leg tells.
- A meter without angles of its voltages leaves the sequence open; one with V, I
  and P only leaves the sign of every angle open. More changes of load close both.
- A channel under the least current (--min-current, 1 A) says nothing, and is never
  called right.
- The percentage rests on how ordinary panels load their legs. A strange panel
  lowers it; it can't raise it.
- Registration is at the load that was read. A billing period has others.
`

const topicWholeJob = `A job sheet names the meter, its map, the service, the CTs and the people. Beside it
stands the record: entries that are added and never changed, each with the seal of
the one before. --keep JOB.yaml adds a result to it, and the sheet then says all
that isn't given. First: legwork help safety

  legwork job new kiln.yaml --service 120/208Y        a sheet to fill in, METER too
  legwork phasetest --keep kiln.yaml --reading ...    which tap is on which leg
  legwork record as-found kiln.yaml                   before anything is moved
  legwork record note kiln.yaml --read "import: 12345.6 kWh"
  legwork clamp --keep kiln.yaml --reading ...        an ammeter beside the meter
  legwork loadstep --keep kiln.yaml --leg 1           or watch --keep kiln.yaml
  legwork record note kiln.yaml --move "Turned CT 2 round"
  legwork record as-left kiln.yaml                    against what was predicted
  legwork pulses --keep kiln.yaml --constant ... --count ... --over ...
  legwork ledger --keep kiln.yaml                     what the reads by hand say
  legwork energy --keep kiln.yaml --as-found --registered "10000 kWh"
  legwork report kiln.yaml -o kiln.html
  legwork record verify kiln.yaml                     is all as it was written?

What a phase test, a load step and a clamp show counts for the verdicts after it,
until a move is noted: then it speaks of other wiring. Of a clamp's currents only
that a CT sits on its leg lasts, where no other channel reads nearly as much; the
amperes are of their own moment. Adjusting bills is for those the law names.
`

func topicSeen() string {
	return `A test tells more than many readings. One sentence a test, with --seen, as often
as there are tests; in legwork watch with the key t:

  leg 2 on: channel 3 up     a load came on on leg 2: channel 3's current rose, and
                             its power rose too; 'down' where its power fell
  leg 2 on: nothing          and no channel took it
  ct 2 arrow wrong           the arrow points towards the source; or 'right'
  ct 2 on leg 3              the conductor was followed; or 'not on'
  sequence ACB               of the meter's voltage inputs, 1, 2, 3; or ABC
  clamp leg 2: 41.3 A        an ammeter on the conductor, at the time of the reading
  input 1 to input 2: 0 V    one conductor feeds both; or 'line' for two

Legs, channels and inputs are numbered; leg 2 is the one that feeds voltage input
2. A sentence is weighed as one that may be wrong one time in fifty, so that one
slip doesn't outweigh everything else.

'up' and 'down' are what the power on the display did, no more. Beside its own
voltage a CT with its arrow right sends it up; on another leg it may go down though
the arrow is right. Which it is, is worked out for every arrangement, over all the
angles that a load may have. Where the power hardly moved, say 'ct 3 on leg 2'.
`
}
