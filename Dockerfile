# A static binary in an empty image: no shell, no package manager, not root.
FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o /fringework ./cmd/fringework \
 && mkdir /data && chown 65532:65532 /data

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /fringework /fringework
COPY --from=build --chown=65532:65532 /data /data
USER 65532:65532
VOLUME /data
EXPOSE 8080
ENV FRINGEWORK_LISTEN=0.0.0.0:8080 FRINGEWORK_DATABASE=sqlite:/data/fringework.db FRINGEWORK_LOG_FORMAT=json
ENTRYPOINT ["/fringework"]
CMD ["serve"]
