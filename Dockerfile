# a name, or better name@sha256:..., which says the same next year: docker/README.md
ARG BASE_IMAGE=python:3.13-slim
# with a C compiler, and the same Python as the base
ARG BUILD_IMAGE=python:3.13

FROM ${BASE_IMAGE} AS packages
COPY lock/runtime.txt /runtime.txt
RUN python3 -m venv /opt/venv \
 && /opt/venv/bin/pip install --no-cache-dir --disable-pip-version-check --require-hashes -r /runtime.txt \
 && /opt/venv/bin/pip uninstall --yes --quiet pip setuptools \
 && find /opt/venv -type d -name tests -prune -exec rm -r {} +

FROM ${BUILD_IMAGE} AS compiled
WORKDIR /srv
COPY lock/compile.txt /compile.txt
RUN python3 -m venv /opt/compile \
 && /opt/compile/bin/pip install --no-cache-dir --disable-pip-version-check --require-hashes -r /compile.txt
COPY service service
RUN export PATH=/opt/compile/bin:$PATH \
 && find service/science -name '*.py' | xargs mypyc > /build.log \
 && rm -r build .mypy_cache

FROM ${BASE_IMAGE}
ARG BASE_IMAGE
ARG VERSION=2026.12.0
ARG REVISION=unknown
LABEL org.opencontainers.image.title="batch-carbonation" \
      org.opencontainers.image.description="The arithmetic behind force-carbonated batched bar drinks, as a stateless REST service" \
      org.opencontainers.image.licenses="Apache-2.0" \
      org.opencontainers.image.version="${VERSION}" \
      org.opencontainers.image.revision="${REVISION}" \
      org.opencontainers.image.base.name="${BASE_IMAGE}"
ENV PATH=/opt/venv/bin:$PATH PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 BIND=0.0.0.0:8080
WORKDIR /srv
COPY --from=packages /opt/venv /opt/venv
COPY LICENSE NOTICE ./
COPY docker/gunicorn.conf.py docker/worker.py docker/
COPY openapi openapi
COPY --from=compiled /srv ./
RUN python3 -m compileall -q service
USER 10001:10001
EXPOSE 8080 8081 9090
# where no work is ahead of it, if there is such a port; http.client, since urllib would ask a proxy that is named
HEALTHCHECK --interval=5s --timeout=3s --start-period=10s \
    CMD ["python3", "-c", "import http.client, os, sys; here = http.client.HTTPConnection(os.environ.get('METRICS_BIND') or os.environ['BIND'], timeout=2); here.request('GET', '/readyz'); sys.exit(here.getresponse().status != 200)"]
CMD ["gunicorn", "-c", "docker/gunicorn.conf.py"]
