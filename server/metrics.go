package server

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/prometheus/otlptranslator"
	"go.opentelemetry.io/otel/attribute"
	otelprometheus "go.opentelemetry.io/otel/exporters/prometheus"
	"go.opentelemetry.io/otel/metric"
	"go.opentelemetry.io/otel/metric/noop"
	sdkmetric "go.opentelemetry.io/otel/sdk/metric"
	"go.opentelemetry.io/otel/sdk/metric/exemplar"
	"go.opentelemetry.io/otel/sdk/resource"
	"google.golang.org/genproto/googleapis/rpc/code"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// metrics are what the server counts. No label holds anything of a client, a drill or a request.
type metrics struct {
	handler http.Handler // tells them; nil: nothing is counted
	// calls is how long each took. Its count is the number of calls, so there is no counter beside it.
	calls      metric.Float64Histogram
	attributes map[call][]metric.RecordOption // made once: on the request path they would cost more than the rest

	checked, mismatched, dropped metric.Int64Counter
}

// call is what tells calls apart.
type call struct {
	method string
	code   codes.Code
}

// newMetrics makes every instrument. live is the edition served; it may give nil. store is how the store stands; ok is
// false without one.
func newMetrics(on bool, live func() *served, store func() (age time.Duration, adopted, ok bool)) (*metrics, error) {
	m := &metrics{attributes: attributesOfCalls()}
	meter := metric.Meter(noop.Meter{})
	if on {
		registry := prometheus.NewRegistry()
		exporter, err := otelprometheus.New(otelprometheus.WithRegisterer(registry), otelprometheus.WithoutScopeInfo(),
			otelprometheus.WithTranslationStrategy(otlptranslator.UnderscoreEscapingWithSuffixes))
		if err != nil {
			return nil, err
		}
		meter = sdkmetric.NewMeterProvider(sdkmetric.WithReader(exporter), sdkmetric.WithExemplarFilter(exemplar.AlwaysOffFilter),
			sdkmetric.WithResource(resource.NewSchemaless(attribute.String("service.name", "drillwright")))).Meter("drillwright/server")
		m.handler = promhttp.HandlerFor(registry, promhttp.HandlerOpts{})
	}
	return m, m.instruments(meter, live, store)
}

func (m *metrics) instruments(meter metric.Meter, live func() *served, store func() (age time.Duration, adopted, ok bool)) error {
	var faults [8]error
	// The name and the attributes are OpenTelemetry's (semantic conventions 1.43), its bounds are not: most calls end
	// far below the least of them.
	m.calls, faults[0] = meter.Float64Histogram("rpc.server.call.duration", metric.WithUnit("s"),
		metric.WithDescription("How long a call took, by method and code."),
		metric.WithExplicitBucketBoundaries(.00005, .0001, .00025, .0005, .001, .0025, .005, .01, .025, .05, .1, .25, 1, 10))
	m.checked, faults[1] = meter.Int64Counter("drillwright.check.answers", metric.WithUnit("{answer}"),
		metric.WithDescription("Answers that were given again the plain way, off the request path."))
	m.mismatched, faults[2] = meter.Int64Counter("drillwright.check.mismatches", metric.WithUnit("{answer}"),
		metric.WithDescription("Those that came out differently: a fault of the server, or of the book's compiling."))
	m.dropped, faults[3] = meter.Int64Counter("drillwright.check.dropped", metric.WithUnit("{answer}"),
		metric.WithDescription("Answers that were due for a check when too many waited for one."))
	_, faults[4] = meter.Int64ObservableGauge("drillwright.edition.info",
		metric.WithDescription("1 for the revision that is served."),
		metric.WithInt64Callback(func(_ context.Context, o metric.Int64Observer) error {
			if e := live(); e != nil {
				o.Observe(1, metric.WithAttributes(attribute.String("revision", e.Revision), attribute.String("engine", rules.EngineVersion)))
			}
			return nil
		}))
	_, faults[5] = meter.Int64ObservableCounter("drillwright.second_look.withheld", metric.WithUnit("{side}"),
		metric.WithDescription("Sides of drills that the revision served would have let through, or dosed above a limit, and the second look "+
			"held back: a fault of its index or its doses. From 0 for each revision."),
		metric.WithInt64Callback(func(_ context.Context, o metric.Int64Observer) error {
			if e := live(); e != nil {
				o.Observe(int64(e.Withheld()))
			}
			return nil
		}))
	_, faults[6] = meter.Float64ObservableGauge("drillwright.store.age", metric.WithUnit("s"),
		metric.WithDescription("How long ago the store of editions was last reached. Without a store it isn't told."),
		metric.WithFloat64Callback(func(_ context.Context, o metric.Float64Observer) error {
			if age, _, ok := store(); ok {
				o.Observe(age.Seconds())
			}
			return nil
		}))
	_, faults[7] = meter.Int64ObservableGauge("drillwright.store.adopted",
		metric.WithDescription("1 while what the store says is live is what is served; 0 when it couldn't be adopted and the last good edition "+
			"is."),
		metric.WithInt64Callback(func(_ context.Context, o metric.Int64Observer) error {
			if _, adopted, ok := store(); ok {
				o.Observe(map[bool]int64{true: 1}[adopted])
			}
			return nil
		}))
	for _, c := range []metric.Int64Counter{m.checked, m.mismatched, m.dropped} {
		c.Add(context.Background(), 0) // told from the start: whoever watches for the first mismatch needs the 0 before it
	}
	return errors.Join(faults[:]...)
}

func attributesOfCalls() map[call][]metric.RecordOption {
	all := map[call][]metric.RecordOption{}
	add := func(name string) {
		for number, text := range code.Code_name {
			all[call{name, codes.Code(number)}] = []metric.RecordOption{metric.WithAttributeSet(attribute.NewSet(
				attribute.String("rpc.system.name", "grpc"),
				attribute.String("rpc.method", strings.TrimPrefix(name, "/")),
				attribute.String("rpc.response.status_code", text)))}
		}
	}
	for name := range anyToken {
		add(name)
	}
	for _, service := range []grpc.ServiceDesc{v1.SelectionService_ServiceDesc, v1.CatalogService_ServiceDesc, v1.RulebookService_ServiceDesc,
		grpc_health_v1.Health_ServiceDesc} {
		for _, m := range service.Methods {
			add("/" + service.ServiceName + "/" + m.MethodName)
		}
	}
	return all
}

// called counts a call.
func (m *metrics) called(method string, code codes.Code, took time.Duration) {
	if m.handler != nil {
		m.calls.Record(context.Background(), took.Seconds(), m.attributes[call{method, code}]...)
	}
}

// serve tells the metrics at /metrics until stop is called. A nil listener: it tells nothing.
func (m *metrics) serve(listener net.Listener, log *slog.Logger) (stop func()) {
	if listener == nil {
		return func() {}
	}
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", m.handler)
	web := &http.Server{Handler: mux, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 16 << 10}
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := web.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			log.Error("metrics", "error", err.Error())
		}
	}()
	return func() {
		web.Close()
		<-done
	}
}
