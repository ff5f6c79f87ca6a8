package main

import (
	"errors"
	"fmt"

	"shortday/bot/terminal"
	"shortday/knowledge/fault"
)

// export writes what a member has as lists that import, and any spreadsheet, reads.
type export struct {
	Folder string `arg:"" help:"The folder to write to; a file that is there already stays, and the new one gets a number."`
}

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
	reply := desk.AnswerLine(p, p.asking(), "/stock list file:yes")
	if reply.Refusal != nil || len(reply.Files) == 0 {
		return errors.Join(p.show(reply, nil), ended(reply))
	}
	kept, err := terminal.Keep(e.Folder, reply.Files)
	if err != nil {
		return fault.New(fault.Later, "The list could not be written to %s. See that it is a folder and has room.", e.Folder).Because(err)
	}
	for i, path := range kept {
		if _, err := fmt.Fprintf(p.stdout, "%s: %s\n", path, reply.Files[i].Alt); err != nil {
			return err
		}
	}
	return nil
}
