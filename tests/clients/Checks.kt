// Calls one operation with its committed example, and holds what the generated models keep of request and answer.
package checks

import java.io.File
import java.math.BigDecimal
import java.net.URI
import java.net.http.HttpRequest
import java.net.http.HttpRequest.BodyPublishers
import java.net.http.HttpResponse.BodyHandlers
import kotlinx.serialization.json.JsonArray
import kotlinx.serialization.json.JsonElement
import kotlinx.serialization.json.JsonObject
import kotlinx.serialization.json.JsonPrimitive
import kotlinx.serialization.json.encodeToJsonElement
import org.openapitools.client.infrastructure.ApiClient
import org.openapitools.client.infrastructure.Serializer

inline fun <reified I, reified O> post(name: String, examples: String, call: (I) -> O) {
    val sent = File("$examples/$name.json").readText()
    val request = Serializer.kotlinxSerializationJson.decodeFromString<I>(sent)
    keeps<I>(sent, request, "request of $name")
    get<O>(name) { call(request) }
}

inline fun <reified O> get(name: String, call: () -> O) {
    keeps<O>(call(), name)
    println("kotlin     $name: 200")
}

/** Sends a table and reads the answer with its generated model. The generated transport has no text/csv. */
inline fun <reified O> postTable(name: String, examples: String, address: String) {
    val body = File("$examples/$name.csv")
    val request = HttpRequest.newBuilder(URI(address)).header("Content-Type", "text/csv").POST(BodyPublishers.ofFile(body.toPath()))
    val text = send(request)
    keeps(text, Serializer.kotlinxSerializationJson.decodeFromString<O>(text), "answer of $name")
    println("kotlin     $name: 200")
}

/** Reads a table, which the generated transport would not either. */
fun table(name: String, address: String) {
    val text = send(HttpRequest.newBuilder(URI(address)).header("Accept", "text/csv"))
    check(text.lines().size > 1 && "," in text.lines().first()) { "$name: $text" }
    println("kotlin     $name: 200")
}

fun send(request: HttpRequest.Builder): String {
    request.header("Authorization", "Bearer ${ApiClient.accessToken}")
    val answer = ApiClient.http.send(request.build(), BodyHandlers.ofString())
    check(answer.statusCode() == 200) { answer.body() }
    return answer.body()
}

inline fun <reified O> keeps(answer: O, name: String) = keeps(ApiClient.last, answer, "answer of $name")

inline fun <reified T> keeps(text: String, value: T, where: String) {
    val json = Serializer.kotlinxSerializationJson
    val kept = if (value is JsonElement) value else json.encodeToJsonElement<T>(value)
    compare(json.parseToJsonElement(text), kept, where)
}

/** Everything of the first is in the second; defaults may have joined. */
fun compare(whole: JsonElement, kept: JsonElement?, where: String) {
    when (whole) {
        is JsonObject -> whole.forEach { (name, value) -> compare(value, (kept as? JsonObject)?.get(name), "$where/$name") }
        is JsonArray -> {
            check(kept is JsonArray && kept.size == whole.size) { "$where: $kept instead of $whole" }
            whole.forEachIndexed { at, value -> compare(value, kept[at], "$where/$at") }
        }
        is JsonPrimitive -> check(kept is JsonPrimitive && same(whole, kept)) { "$where: $kept instead of $whole" }
    }
}

fun same(one: JsonPrimitive, other: JsonPrimitive): Boolean {
    if (one.isString || other.isString || one.content == other.content) return one == other
    return BigDecimal(one.content).compareTo(BigDecimal(other.content)) == 0
}
