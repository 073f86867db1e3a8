package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/pocket"
	"kitbell/bot/store"
	"kitbell/knowledge"
)

// runPocket writes, for every kit list of a department, the page for the phone
// and the sheet for the kit's lid.
func runPocket(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("pocket", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department (the demo department)")
	out := flags.String("out", "", "folder to write to")
	paper := flags.String("paper", pocket.Letter, "paper of the sheet: letter or a4")
	version := flags.Int("list", 0, "only this version of the kit list")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	if *out == "" {
		return usagef("name the folder to write to with --out DIR")
	}
	if *paper != pocket.Letter && *paper != pocket.A4 {
		return usagef("the paper is letter or a4, not %q", *paper)
	}
	guides, err := guidesOf(ctx, home, s.err)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(*out, 0o755); err != nil {
		return &bot.UserError{Say: "I cannot make the folder " + *out + ". Choose another place.", Err: err}
	}
	wrote := 0
	for _, g := range guides {
		if *version != 0 && g.source.List.Version != *version {
			continue
		}
		wrote++
		if err := g.write(ctx, *out, *paper, s.out); err != nil {
			return err
		}
	}
	if wrote == 0 {
		return &bot.UserError{Say: fmt.Sprintf("There is no kit list %d.", *version)}
	}
	return nil
}

// guide is one page and sheet to make.
type guide struct {
	slug   string
	source pocket.Source
}

// guidesOf lists what there is to make for the departments of a home, or for the
// demo department when it has no folder.
func guidesOf(ctx context.Context, h *home, warnings io.Writer) ([]guide, error) {
	all, err := pocketDesks(h.dir, warnings)
	if err != nil {
		return nil, err
	}
	var guides []guide
	for _, o := range all {
		planner := o.cards.planner
		d := o.desk.Department
		barred, err := barredIn(ctx, h, o.desk, warnings)
		if err != nil {
			return nil, err
		}
		for _, list := range d.Lists {
			guides = append(guides, guide{d.Slug, pocket.Source{
				Department: d.Name, List: list, Rig: d.OnEvery, Barred: barred, Names: ownNames(d),
				Library: o.cards.library, Planner: planner, Limit: planner.Assumptions().LimitMinutes, Made: time.Now().In(d.Zone),
			}})
		}
	}
	return guides, nil
}

func pocketDesks(dir string, warnings io.Writer) ([]opened, error) {
	if dir != "" {
		return openDesks(dir, warnings)
	}
	open, err := openDemoDesk()
	return []opened{open}, err
}

// barredIn are the techniques that a department does not go by: those that its
// file forbids, and those that its database does not have as adopted. Without a
// database nothing is adopted yet.
func barredIn(ctx context.Context, h *home, desk *command.Desk, warnings io.Writer) ([]string, error) {
	barred := slices.Clone(desk.Department.Forbids)
	if desk.AdoptsAll {
		return barred, nil
	}
	db, err := h.openCopy(ctx, store.Options{})
	if err != nil {
		return nil, err
	}
	defer db.Close()
	open, err := command.Unadopted(ctx, desk, db)
	if err != nil {
		return nil, err
	}
	left := 0
	for _, c := range open {
		if c.Kind == knowledge.Technique && c.ID != command.LastResort {
			barred = append(barred, c.ID)
			left++
		}
	}
	if left > 0 {
		fmt.Fprintf(warnings, "%d techniques are left out: they are not adopted in %s. The chief of training types: adopt all cards.\n", left, desk.Department.Name)
	}
	return barred, nil
}

// ownNames are the names of list items that have no card.
func ownNames(d *department.Department) map[string]string {
	names := make(map[string]string)
	for _, item := range d.Items {
		if item.Name != "" {
			names[item.ID] = item.Name
		}
	}
	return names
}

// write makes both files and says where they are.
func (g guide) write(ctx context.Context, dir, paper string, out io.Writer) error {
	p, err := pocket.New(ctx, g.source)
	if err != nil {
		return fmt.Errorf("make pocket guide: %w", err)
	}
	base := filepath.Join(dir, fmt.Sprintf("%s-list-%d", g.slug, g.source.List.Version))
	if err := writeFile(base+".html", p.HTML); err != nil {
		return err
	}
	if err := writeFile(base+".pdf", func(w io.Writer) error { return p.PDF(w, paper) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "Wrote %s.html, the page to save on a phone, and %s.pdf, the sheet for the kit's lid.\n", base, base)
	return err
}

func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return &bot.UserError{Say: "I cannot write " + name + ". Choose another place.", Err: err}
	}
	return errors.Join(write(f), f.Close())
}
