package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"kitbell/bot"
)

// defaultHTTP is where health, metrics and the platforms' endpoints are. A proxy
// in front does TLS.
const defaultHTTP = "127.0.0.1:8117"

// web serves a running office over HTTP.
type web struct {
	office    *office
	platforms []platform
	metrics   *metrics
}

// handler has /healthz, /readyz, /metrics and what the platforms call.
func (w web) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(out http.ResponseWriter, r *http.Request) { w.say(out, w.healthy(r.Context())) })
	mux.HandleFunc("GET /readyz", func(out http.ResponseWriter, r *http.Request) {
		w.say(out, w.ready(r.Context()))
		_, _ = io.WriteString(out, w.office.roles.words())
	})
	mux.Handle("GET /metrics", promhttp.HandlerFor(w.metrics.registry, promhttp.HandlerOpts{}))
	endpoints(mux, w.platforms, w.office.intake)
	return mux
}

// healthy says whether the program can work at all: its database answers.
func (w web) healthy(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	_, _, err := w.office.db.Backlog(ctx)
	return err
}

// ready says whether events can come in: every platform is linked, or another
// process has its one link.
func (w web) ready(ctx context.Context) error {
	for _, p := range w.platforms {
		if !p.Ready() && !w.office.roles.standsBy(p) {
			return fmt.Errorf("no link to %s", p.Name())
		}
	}
	return w.healthy(ctx)
}

func (w web) say(out http.ResponseWriter, trouble error) {
	if trouble != nil {
		http.Error(out, "not well: "+plainly(trouble), http.StatusServiceUnavailable)
		return
	}
	_, _ = io.WriteString(out, "ok\n")
}

// serve answers on an address until ctx ends, and lets calls that have begun
// end.
func (w web) serve(ctx context.Context, address string) error {
	listener, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
	if err != nil {
		return &bot.UserError{Say: fmt.Sprintf("I cannot listen on %s (%v). Is a kitbell at work already? Name another address with --http, or --http off.", address, errors.Unwrap(err)), Err: err}
	}
	server := &http.Server{
		Handler: w.handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second, WriteTimeout: 15 * time.Second,
		IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10,
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	w.office.log.InfoContext(ctx, "listening", "address", listener.Addr().String())
	select {
	case err := <-done:
		return fmt.Errorf("serve HTTP: %w", err)
	case <-ctx.Done():
	}
	ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer cancel()
	err = server.Shutdown(ending)
	<-done
	if errors.Is(err, context.DeadlineExceeded) {
		return server.Close()
	}
	return err
}
