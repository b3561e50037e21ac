// Command weights fetches what scripts/setup needs before the program itself
// can be built: it is `putback models fetch` without the recogniser's library,
// which is one of the things it fetches.
//
//	go run ./scripts/weights fetch [NAME...]
//	go run ./scripts/weights verify [NAME...]
//	go run ./scripts/weights path NAME
//	go run ./scripts/weights list
//	go run ./scripts/weights dir
//	go run ./scripts/weights bill FILE   (complete a bill of materials)
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"putback/models"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "weights:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) error {
	if len(args) == 0 {
		return fmt.Errorf("usage: go run ./scripts/weights fetch|verify|path|list|dir|bill [NAME...]")
	}
	progress := func(line string) { fmt.Println(line) }
	switch names := args[1:]; args[0] {
	case "fetch":
		return models.Fetch(ctx, progress, names...)
	case "verify":
		return models.Verify(ctx, progress, names...)
	case "path":
		for _, name := range names {
			path, err := models.Path(name)
			if err != nil {
				return err
			}
			fmt.Println(path)
		}
		return nil
	case "list":
		return models.WriteList(os.Stdout)
	case "bill":
		if len(names) != 1 {
			return fmt.Errorf("usage: go run ./scripts/weights bill FILE.cdx.json")
		}
		return addToBill(names[0])
	case "dir":
		fmt.Println(models.Dir())
		return nil
	default:
		return fmt.Errorf("unknown request %q: fetch, verify, path, list, dir or bill", args[0])
	}
}
