# The commands a contributor needs. Each is one line that can be typed by hand.

.PHONY: demo serve test any-day quick race generate examples lint-api lint bench mutate image

demo: ## an invented academy, served until stopped
	go run ./cmd/fringework demo

serve: ## your own academy, in fringework.db
	go run ./cmd/fringework serve

test: ## everything continuous integration runs
	bash .ci/test

any-day: ## what depends on the day, on many days and in many time zones
	bash .ci/any-day

quick: ## the tests of what does not need a database or a browser
	go test ./domain/... ./auth/... ./api/...

race: ## the same with the race detector
	go test -race ./...

generate: ## the API description, from the annotations
	go generate ./openapi

examples: ## the examples in the API description, from requests that a test makes
	go test ./integration -run 'TestExamples$$' -record
	go generate ./openapi

lint-api: ## two public linters, on the API description
	cd integration/clients/lint && npm ci --ignore-scripts && npm run lint

lint: ## the linters, and the search for functions that nothing calls
	bash .ci/lint

bench: ## benchmarks, in Go's own form
	go test -run '^$$' -bench . -benchmem ./...

mutate: ## do the tests notice wrong code? minutes for a package, PACKAGES names others
	go run ./integration/mutants $(PACKAGES)

PACKAGES ?= ./domain/streak ./domain/curriculum ./domain/practice

image: ## a static image without a shell
	docker build -t fringework .
