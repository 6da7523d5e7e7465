// The two names of OkHttp that the generated calls mention. No registry of these checks has OkHttp itself, so
// ApiClient.kt beside this file carries the calls over the JDK's own HTTP client; all else is as generated.
package okhttp3

import java.net.URLEncoder

interface Call {
    interface Factory
}

class HttpUrl(val encodedPathSegments: List<String>) {
    class Builder {
        private val segments = mutableListOf<String>()

        fun scheme(name: String) = also { require(name == "http") }

        fun host(name: String) = also { require(name.isNotEmpty()) }

        fun addPathSegment(segment: String) = also { segments += URLEncoder.encode(segment, Charsets.UTF_8).replace("+", "%20") }

        fun build() = HttpUrl(segments)
    }
}
