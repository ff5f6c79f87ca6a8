package main

import (
	"errors"
	"fmt"

	"shortday/bot"
	"shortday/bot/terminal"
	"shortday/knowledge/fault"
)

// export writes what a member has as lists that import, and any spreadsheet, reads.
type export struct {
	Folder string `arg:"" help:"The folder to write to; a file that is there already stays, and the new one gets a number."`
}

// lists are the requests that give them, in the order in which they are brought back.
var lists = [...]string{"/variety list file:yes", "/target list file:yes", "/stock list file:yes", "/note list file:yes"}

// Run writes the lists.
func (e *export) Run(p *program) (err error) {
	path, err := p.file()
	if err != nil {
		return err
	}
	if err := exists(path); err != nil {
		return err
	}
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	var files []bot.File
	for _, request := range lists {
		reply := desk.AnswerLine(p, p.asking(), request)
		if reply.Refusal != nil && reply.Refusal.Kind == fault.Barred {
			return fault.New(fault.Missing, "%s is no member of %s, so there is nothing to write. Name a member with --as, and their co-op with --coop.", p.who(), p.Coop)
		}
		if reply.Refusal != nil {
			return errors.Join(p.show(reply, nil), ended(reply))
		}
		for _, f := range reply.Files {
			if f.Type == "text/csv" {
				files = append(files, f)
			}
		}
	}
	if len(files) == 0 {
		_, err := fmt.Fprintln(p.stdout, "There is nothing to write yet.")
		return err
	}
	kept, err := terminal.Keep(e.Folder, files)
	if err != nil {
		return fault.New(fault.Later, "The lists could not be written to %s. See that it is a folder and has room.", e.Folder).Because(err)
	}
	for i, path := range kept {
		if _, err := fmt.Fprintf(p.stdout, "%s: %s\n", path, files[i].Alt); err != nil {
			return err
		}
	}
	return nil
}
