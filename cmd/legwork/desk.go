package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/desk"
	"legwork/cmd/legwork/internal/promql"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/sites"
)

// deskLong is what a support desk asks, and where the answer is.
const deskLong = `Reads every meter of a list again and again, judges it, and shows it on a page that
stays current. The list is that of legwork survey.

  Who goes where first?  The page: most lost power first. Search and filter are in its
                         address, so that a view can be sent to someone.
  What is to be done?    The page of a meter: verdict, sketch, steps, what it must show
                         then; with --history the last day too.
  Was it done?           Leave the page open. Readings from before are forgotten: a CT that
                         was turned round shows within some 6 minutes.
  Is anything new?       legwork desk rules: alerts on a new fault, a silent meter or
                         channel, energy lost, a main that differs from those below it.
  How was it before?     The desk keeps no history. Prometheus or VictoriaMetrics do, and
                         legwork diagnose "promql+http://HOST:PORT/NAME?from=-2d&to=-1d"
                         judges a day of it.

Beside / and /meters/NAME there are /api/meters, the JSON of legwork survey; /metrics for
Prometheus, to be read twice as often as the meters (every 7s for 15s); /targets for its
service discovery; /healthz. SIGHUP takes a changed list up. Nobody but this machine gets
in unless --web-config says who may.`

// rulesLong says where the rules go.
const rulesLong = `Prints alerting rules for Prometheus and whatever takes its rules. In prometheus.yml:

  rule_files: [legwork.rules.yaml]
  scrape_configs:
    - job_name: legwork
      scrape_interval: 7s
      http_sd_configs: [{url: "http://127.0.0.1:8460/targets"}]

Where alerts go from there is said under alerting, which names an Alertmanager.`

type deskFlags struct {
	listen, webConfig, shard, peers, history string
	every, timeout                           time.Duration
}

func (a *app) desk() *cobra.Command {
	var f deskFlags
	c := &cobra.Command{
		Use:     "desk SITES",
		GroupID: "many",
		Short:   "Keep reading and judging the meters of a list, with a page and metrics",
		Long:    deskLong,
		Example: "legwork sim --fleet 60 --sites yard.csv   # 60 simulated meters, to practise: in one terminal\n" +
			"legwork desk yard.csv                     # in another; open the page that it names",
		Args: oneArgument("a sites FILE or folder"),
		RunE: func(c *cobra.Command, args []string) error {
			a.serves.Store(true)
			return a.runDesk(c.Context(), args[0], f)
		},
	}
	c.Flags().StringVar(&f.listen, "listen", "127.0.0.1:8460", "`HOST:PORT` to answer on")
	c.Flags().DurationVar(&f.every, "every", 15*time.Second, "time between two readings of a meter")
	c.Flags().DurationVar(&f.timeout, "timeout", time.Second, "how long to wait for one answer")
	c.Flags().StringVar(&f.webConfig, "web-config", "",
		"web configuration `FILE` of the Prometheus exporters: TLS, passwords")
	c.Flags().StringVar(&f.shard, "shard", "", "read the `K/N`-th part of the list, by wire, the same on every machine")
	c.Flags().StringVar(&f.peers, "peers", "", "addresses of the desks of all parts, `URL,...`, for /targets")
	c.Flags().StringVar(&f.history, "history", "",
		"server that keeps the metrics, `promql+http://HOST:PORT`: a meter's page shows the last day")
	c.AddCommand(a.deskRules())
	return c
}

func (a *app) deskRules() *cobra.Command {
	return &cobra.Command{
		Use:     "rules",
		Example: "legwork desk rules > legwork.rules.yaml",
		Short:   "Print alerting rules for the desk's metrics",
		Long:    rulesLong,
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprint(a.stdout, desk.Rules())
			return err
		},
	}
}

// options are the desk's, checked.
func (f *deskFlags) options() (desk.Options, error) {
	o := desk.Options{Every: f.every, Timeout: f.timeout}
	if f.every <= 0 || f.timeout <= 0 {
		return o, errors.New("--every and --timeout are times above 0, such as 15s")
	}
	var err error
	if o.Shard, err = desk.ParseShard(f.shard); err != nil {
		return o, fmt.Errorf("--shard %w", err)
	}
	if f.history != "" {
		if o.History, err = promql.ParseServer(f.history); err != nil {
			return o, fmt.Errorf("--history %q %w", f.history, err)
		}
	}
	if f.peers == "" {
		return o, nil
	}
	if f.shard == "" {
		return o, errors.New("--peers goes with --shard K/N")
	}
	for p := range strings.SplitSeq(f.peers, ",") {
		u, err := url.Parse(strings.TrimSpace(p))
		if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
			return o, fmt.Errorf("--peers %q is not a URL such as http://desk-1:8460", p)
		}
		o.Peers = append(o.Peers, u.String())
	}
	if len(o.Peers) != o.Shard.N {
		return o, fmt.Errorf("--peers names %d desks, and --shard %s has %d parts", len(o.Peers), f.shard, o.Shard.N)
	}
	return o, nil
}

// liveList reads a list whose meters can be asked again and again.
func liveList(file string) (*sites.List, error) {
	list, err := sites.Load(file)
	if err == nil {
		err = areLive(list, "asked again")
	}
	return list, err
}

// areLive refuses what can't be so, as it is called.
func areLive(list *sites.List, so string) error {
	for _, s := range list.Sites {
		if !s.Meter.Live() {
			return fmt.Errorf("%s: %s is no meter that can be %s", s.Name, s.Meter.Text, so)
		}
	}
	return nil
}

// collectAt is the garbage beside what is held, in percent, at which a desk
// collects it. Nearly all that it holds are numbers, which cost a collector
// little: at 10,000 meters under a tenth of a core buys 150 MB. Our choice.
const collectAt = 25

func (a *app) runDesk(ctx context.Context, file string, f deskFlags) error {
	o, err := f.options()
	o.Told = a.toldInFull()
	if err != nil {
		return err
	}
	list, err := liveList(file)
	if err != nil {
		return err
	}
	l, err := desk.Listen(f.listen, f.webConfig)
	if err != nil {
		return fmt.Errorf("--listen %w", err)
	}
	o.Address = l.Addr().String()
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	d := desk.New(o)
	defer d.Close()
	if err := d.Load(list); err != nil {
		_ = l.Close()
		return err
	}
	if _, err := fmt.Fprintf(a.stdout, "http://%s/\n", l.Addr()); err != nil {
		return err
	}
	fmt.Fprintln(a.stderr, metersOn(len(list.Sites), len(list.Wires()))+"; interrupt to end")
	go a.reload(ctx, d, file)
	return desk.Serve(ctx, l, d, f.webConfig)
}

// reload takes a changed list up when asked to. One that is wrong changes nothing.
func (a *app) reload(ctx context.Context, d *desk.Desk, file string) {
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, syscall.SIGHUP)
	defer signal.Stop(asked)
	for {
		select {
		case <-ctx.Done():
			return
		case <-asked:
		}
		list, err := liveList(file)
		if err == nil {
			err = d.Load(list)
		}
		if err != nil {
			fmt.Fprintf(a.stderr, "%v\nthe list stays as it was\n", err)
			continue
		}
		fmt.Fprintln(a.stderr, metersOn(len(list.Sites), len(list.Wires())))
	}
}

// metersOn says how many meters share how many wires.
func metersOn(meters, wires int) string {
	return screen.Count(meters, "meter", "meters") + " on " + screen.Count(wires, "wire", "wires")
}
