package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"golang.org/x/sync/errgroup"

	"shortday/bot/terminal"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// watch tells notices without a conversation, until it is stopped.
type watch struct {
	striking
	feed
	To string `placeholder:"DIR" help:"Deliver into this folder, one file a notice. Without it they are printed."`
}

// Run watches.
func (w *watch) Run(p *program) (err error) {
	if !p.At.IsZero() {
		return fault.New(fault.Unclear, "Notices go out by the real clock. Leave --at away to watch; shortday season shows a year of them.")
	}
	platform := scheduler.Platform{Deliver: p.print}
	if w.To != "" {
		folder, err := terminal.NewFolder(w.To)
		if err != nil {
			return fault.New(fault.Barred, "The folder %s cannot be made. Name one that you may write.", w.To).Because(err)
		}
		platform = folder.Platform()
	}
	reg, _, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	stop, err := w.strike(p, scheduler.Config{Register: reg, Adapter: register.Terminal, Platform: platform})
	if err != nil {
		return err
	}
	p.log.Info("watching", "register", reg.Path())
	group, ctx := errgroup.WithContext(p.Context)
	group.Go(func() error { return w.feed.run(ctx, p, reg) })
	group.Go(func() error { <-ctx.Done(); return nil })
	return errors.Join(group.Wait(), stop())
}

// print delivers to standard output.
func (p *program) print(_ context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
	var text bytes.Buffer
	if err := terminal.Posted(&text, n); err != nil {
		return "", err
	}
	_, err := fmt.Fprintln(p.stdout, text.String())
	return "printed", err
}
