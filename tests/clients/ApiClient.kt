// In the place of the generated ApiClient.kt, with what the generated calls use of it.
package org.openapitools.client.infrastructure

import java.net.URI
import java.net.URLEncoder
import java.net.http.HttpClient
import java.net.http.HttpRequest
import java.net.http.HttpRequest.BodyPublishers
import java.net.http.HttpResponse
import java.net.http.HttpResponse.BodyHandlers
import kotlinx.serialization.encodeToString
import okhttp3.Call

open class ApiClient(val baseUrl: String, val client: Call.Factory = defaultClient) {
    companion object {
        const val BASE_URL_KEY = "org.openapitools.client.baseUrl"
        val defaultClient = object : Call.Factory {}
        val http: HttpClient = HttpClient.newHttpClient()
        var accessToken: String? = null

        /** The body of the last answer, as it came. */
        var last = ""
    }

    protected inline fun <reified I, reified T : Any?> request(config: RequestConfig<I>): ApiResponse<T?> {
        val json = Serializer.kotlinxSerializationJson
        val answer = exchange(config, config.body?.let { json.encodeToString(it) })
        last = answer.body()
        if (answer.statusCode() !in 200..299) {
            return ClientError(message = last, statusCode = answer.statusCode())
        }
        val found = if (T::class == Any::class) json.parseToJsonElement(last) as T else json.decodeFromString<T>(last)
        return Success(found, answer.statusCode(), answer.headers().map())
    }

    fun exchange(config: RequestConfig<*>, body: String?): HttpResponse<String> {
        val query = config.query.flatMap { (name, values) -> values.map { "$name=${URLEncoder.encode(it, Charsets.UTF_8)}" } }
        val address = baseUrl + config.path + if (query.isEmpty()) "" else query.joinToString("&", "?")
        val publisher = if (body == null) BodyPublishers.noBody() else BodyPublishers.ofString(body)
        val request = HttpRequest.newBuilder(URI(address)).method(config.method.name, publisher)
        config.headers.forEach { (name, value) -> request.header(name, value) }
        if (config.requiresAuthentication) request.header("Authorization", "Bearer $accessToken")
        return http.send(request.build(), BodyHandlers.ofString())
    }
}
